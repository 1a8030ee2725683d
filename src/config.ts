import { StopledgerError } from './errors.js';
import { SECRETS, SETTINGS, type StudioToken, type Values } from './settings.js';
import type { BucketAddress } from './store/s3/bucket.js';

export { SETTINGS };

const LOOPBACK = new Set(['localhost', '::1', '[::1]']);

/** True for addresses that only this machine can reach. */
export function isLoopback(host: string): boolean {
  return LOOPBACK.has(host.toLowerCase()) || /^127(\.\d{1,3}){3}$/.test(host);
}

/** A bucket's server copies no larger object inside itself in one request (Amazon S3, CopyObject). */
const MOST_BUCKET_FRAME_BYTES = 5 * 1024 ** 3;

export interface WebhookSettings {
  /** Origins, as `URL.origin` writes them; empty: no webhooks. */
  readonly allow: readonly string[];
  /** CIDR ranges of addresses that are not public and may be reached all the same. */
  readonly privateRanges: readonly string[];
  /** Base64, without a prefix; each signs. */
  readonly secrets: readonly string[];
  /** Of studios that have their own. */
  readonly studioSecrets: readonly Readonly<{ studio: string; secret: string }>[];
}

export interface Config {
  readonly host: string;
  readonly port: number;
  readonly dataDir: string;
  readonly workers: number;
  /** Empty: embedded. */
  readonly redisUrl: string;
  readonly redisPrefix: string;
  /** Empty: SQLite in the data folder. */
  readonly databaseUrl: string;
  readonly frameFiles: Values['FRAME_FILES'];
  readonly bucket: Readonly<BucketAddress>;
  readonly frameApiUrl: string;
  /** Empty: frames are not handed out. */
  readonly frameApiSecret: string;
  readonly frameTimeoutSeconds: number;
  readonly frameMaxAttempts: number;
  readonly maxFrameBytes: number;
  readonly maxFramesPerShoot: number;
  /** Of one studio or address; 0: no limit. */
  readonly maxRequestsPerMinute: number;
  readonly maxEventStreams: number;
  readonly maxWaitSeconds: number;
  readonly requestTimeoutSeconds: number;
  readonly shutdownSeconds: number;
  /** May do everything in all shoots. */
  readonly apiTokens: readonly string[];
  /** Each sees the shoots of its studio only. With none of either everyone is let in. */
  readonly studioTokens: readonly Readonly<StudioToken>[];
  /** Empty: only the API's tokens read the metrics. */
  readonly metricsToken: string;
  readonly webhooks: Readonly<WebhookSettings>;
  /** 0: all shoots are kept. */
  readonly retainDays: number;
  readonly minFreeBytes: number;
  readonly calibrations: string;
  readonly logLevel: Values['LOG_LEVEL'];
}

/** Beginnings of names that only this program would set: a mistyped one is refused instead of ignored. */
const OURS =
  /^(STOPLEDGER_|FRAME_|MAX_FRAME|MAX_EVENT_|MAX_REQUEST|MAX_WAIT_|API_TOKEN|STUDIO_[TW]|WEBHOOK_[APS]|RETAIN_D|METRICS_T|MIN_FREE)/;

/** What is wrong with values that are each right; null when nothing is. */
function unfitTogether(values: Values): string | null {
  const tokens = [...values.API_TOKENS, ...values.STUDIO_TOKENS.map(({ token }) => token)];
  if (new Set(tokens).size < tokens.length) return 'API_TOKENS, STUDIO_TOKENS: one token stands there twice';
  if (values.STUDIO_TOKENS.some((one) => one.token === values.METRICS_TOKEN)) {
    return 'METRICS_TOKEN, STUDIO_TOKENS: one token stands in both, and a studio would read the figures of all';
  }
  if (!isLoopback(values.HOST) && tokens.length === 0 && !values.ALLOW_OPEN_NETWORK) {
    return (
      `HOST is ${values.HOST}, which other machines can reach, and API_TOKENS and STUDIO_TOKENS are empty: set them, ` +
      'or ALLOW_OPEN_NETWORK=true to let everyone in'
    );
  }
  if (values.WEBHOOK_ALLOW.length > 0 && values.WEBHOOK_SECRET.length === 0) {
    return 'WEBHOOK_ALLOW is set and WEBHOOK_SECRET is empty: webhooks are signed; set WEBHOOK_SECRET';
  }
  if (values.DATABASE_URL !== '' && values.REDIS_URL === '') {
    return 'DATABASE_URL is set and REDIS_URL is empty: API processes that share records have to share their queue; set REDIS_URL';
  }
  if (values.FRAME_FILES !== 'folder' && values.REDIS_URL === '') {
    return `FRAME_FILES is ${values.FRAME_FILES} and REDIS_URL is empty: a process alone needs its frames in a folder`;
  }
  if (values.FRAME_FILES === 'api' && (values.FRAME_API_URL === '' || values.FRAME_API_SECRET === '')) {
    return 'FRAME_FILES is api: FRAME_API_URL and FRAME_API_SECRET are needed';
  }
  if (values.FRAME_FILES !== 'bucket') return null;
  if (values.S3_BUCKET === '') return 'FRAME_FILES is bucket: S3_BUCKET is needed';
  if ((values.S3_ACCESS_KEY_ID === '') !== (values.S3_SECRET_ACCESS_KEY === '')) {
    return 'of S3_ACCESS_KEY_ID and S3_SECRET_ACCESS_KEY only one is set: both or none are expected';
  }
  if (values.MAX_FRAME_BYTES > MOST_BUCKET_FRAME_BYTES) {
    return `MAX_FRAME_BYTES is ${values.MAX_FRAME_BYTES}: with FRAME_FILES=bucket at most ${MOST_BUCKET_FRAME_BYTES} are possible`;
  }
  return null;
}

/**
 * Reads the environment into one frozen object. A variable that is set but empty counts as not set.
 * Throws `bad-configuration` naming every variable that is wrong, and for values that do not fit together.
 */
export function readConfig(environment: NodeJS.ProcessEnv): Config {
  const faults: string[] = [];
  for (const name of Object.keys(environment)) {
    if (OURS.test(name) && !(name in SETTINGS))
      faults.push(`${name}: no such variable; known are ${Object.keys(SETTINGS).join(', ')}`);
  }
  const read = (name: keyof typeof SETTINGS): unknown => {
    const { schema, preset } = SETTINGS[name];
    const given = environment[name];
    const text =
      given === undefined || given === '' ? (typeof preset === 'string' ? preset : preset(environment)) : given;
    const parsed = schema.safeParse(text);
    if (parsed.success) return parsed.data;
    const received = SECRETS.has(name) ? '' : `, received "${text}"`;
    faults.push(`${name}: ${parsed.error.issues.map((issue) => issue.message).join('; ')}${received}`);
    return undefined;
  };
  const values = Object.fromEntries(
    (Object.keys(SETTINGS) as (keyof typeof SETTINGS)[]).map((name) => [name, read(name)]),
  ) as Values;
  if (faults.length > 0) throw new StopledgerError('bad-configuration', faults.join('\n'));

  const unfit = unfitTogether(values);
  if (unfit !== null) throw new StopledgerError('bad-configuration', unfit);
  return Object.freeze({
    host: values.HOST,
    port: values.PORT,
    dataDir: values.DATA_DIR,
    workers: values.WORKERS,
    redisUrl: values.REDIS_URL,
    redisPrefix: values.REDIS_PREFIX,
    databaseUrl: values.DATABASE_URL,
    frameFiles: values.FRAME_FILES,
    bucket: Object.freeze({
      bucket: values.S3_BUCKET,
      endpoint: values.S3_ENDPOINT,
      region: values.S3_REGION,
      prefix: values.S3_PREFIX,
      accessKeyId: values.S3_ACCESS_KEY_ID,
      secretAccessKey: values.S3_SECRET_ACCESS_KEY,
    }),
    frameApiUrl: values.FRAME_API_URL,
    frameApiSecret: values.FRAME_API_SECRET,
    frameTimeoutSeconds: values.FRAME_TIMEOUT_SECONDS,
    frameMaxAttempts: values.FRAME_MAX_ATTEMPTS,
    maxFrameBytes: values.MAX_FRAME_BYTES,
    maxFramesPerShoot: values.MAX_FRAMES_PER_SHOOT,
    maxRequestsPerMinute: values.MAX_REQUESTS_PER_MINUTE,
    maxEventStreams: values.MAX_EVENT_STREAMS,
    maxWaitSeconds: values.MAX_WAIT_SECONDS,
    requestTimeoutSeconds: values.REQUEST_TIMEOUT_SECONDS,
    shutdownSeconds: values.SHUTDOWN_SECONDS,
    apiTokens: Object.freeze(values.API_TOKENS),
    studioTokens: Object.freeze(values.STUDIO_TOKENS),
    metricsToken: values.METRICS_TOKEN,
    webhooks: Object.freeze({
      allow: Object.freeze(values.WEBHOOK_ALLOW),
      privateRanges: Object.freeze(values.WEBHOOK_PRIVATE),
      secrets: Object.freeze(values.WEBHOOK_SECRET),
      studioSecrets: Object.freeze(values.STUDIO_WEBHOOK_SECRETS),
    }),
    retainDays: values.RETAIN_DAYS,
    minFreeBytes: values.MIN_FREE_BYTES,
    calibrations: values.CALIBRATIONS,
    logLevel: values.LOG_LEVEL,
  });
}
