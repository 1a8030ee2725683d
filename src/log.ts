import { type DestinationStream, type Logger, destination, pino } from 'pino';
import type { Config } from './config.js';

/** Shorter words are not looked for: they would stand in half of all lines. */
const SHORTEST_SECRET = 6;
const HIDDEN = '[secret]';

function passwordOf(url: string): string[] {
  if (url === '') return [];
  const { password } = new URL(url);
  return [password, decodeURIComponent(password)];
}

/** What must stand in no line: tokens, passwords and addresses that hold one, as they are written inside JSON. */
function secretsOf(config: Config): string[] {
  const { redisUrl, databaseUrl, bucket, webhooks } = config;
  const secrets = [
    ...passwordOf(redisUrl),
    ...passwordOf(databaseUrl),
    bucket.accessKeyId,
    bucket.secretAccessKey,
    config.frameApiSecret,
    config.metricsToken,
    ...config.apiTokens,
    ...config.studioTokens.map(({ token }) => token),
    ...webhooks.secrets,
    ...webhooks.studioSecrets.map(({ secret }) => secret),
  ];
  const written = secrets.flatMap((secret) => [secret, JSON.stringify(secret).slice(1, -1)]);
  return [...new Set(written)].filter((secret) => secret.length >= SHORTEST_SECRET);
}

/** An error's class, code, words and trace. Not what else hangs on it: clients of servers put whole commands there. */
function toldError(error: unknown): unknown {
  if (!(error instanceof Error)) return error;
  return {
    type: error.name,
    ...('code' in error ? { code: String(error.code) } : {}),
    message: error.message,
    stack: error.stack,
    ...(error.cause === undefined ? {} : { cause: toldError(error.cause) }),
  };
}

/**
 * The log of a process: one JSON object a line, `shootId` and `frameName` where a line is about one, no image data.
 * Secrets of the configuration are struck out of every line, whatever brought them there.
 */
export function createLog(config: Config, sink: DestinationStream = destination({ sync: true })): Logger {
  const secrets = secretsOf(config);
  const write = (line: string): void => {
    let told = line;
    for (const secret of secrets) if (told.includes(secret)) told = told.replaceAll(secret, HIDDEN);
    sink.write(told);
  };
  return pino({ level: config.logLevel, serializers: { err: toldError } }, { write });
}
