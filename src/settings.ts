import { availableParallelism } from 'node:os';
import { resolve } from 'node:path';
import { z } from 'zod';
import { isAddressRange } from './notify/addresses.js';
import { originOf } from './notify/origins.js';
import { isWebhookSecret, secretBase64 } from './notify/signature.js';
import { defaultCalibrationFile } from './store/calibration-file.js';

const whole = (least: number, most: number) => z.coerce.number().int().min(least).max(most);
const flag = z.enum(['true', 'false']).transform((word) => word === 'true');
const token = z
  .string()
  .min(16, 'each token needs at least 16 characters')
  .regex(/^[\x21-\x7e]+$/, 'a token is printable ASCII without spaces');

/** What a token may do: look at what is there, send frames and open and complete shoots, delete shoots. */
export const SCOPES = ['read', 'send', 'delete'] as const;
export type Scope = (typeof SCOPES)[number];

export interface StudioToken {
  studio: string;
  scopes: Scope[];
  token: string;
}

const studioName = z.string().regex(/^[a-z0-9][a-z0-9-]{0,63}$/, 'a studio is named by small letters, digits and -');
const scopeList = z
  .string()
  .transform((text) => text.split('+'))
  .pipe(z.array(z.enum(SCOPES, `${SCOPES.join(', ')} expected, joined by +`)).min(1));

/** `name:rest`, without ever repeating the rest. */
const named = z.string().transform((text, context): { studio: string; rest: string } => {
  const [, studio, rest] = /^([^:]*):(.*)$/s.exec(text) ?? [];
  if (studio !== undefined && rest !== undefined) return { studio, rest };
  context.addIssue('studio:… expected');
  return z.NEVER;
});

const studioToken = named
  .transform(({ studio, rest }) => ({
    studio,
    scopes: rest.split(':', 1)[0],
    token: rest.slice(rest.indexOf(':') + 1),
  }))
  .pipe(z.object({ studio: studioName, scopes: scopeList, token }));

/** Words separated by commas. */
const list = z.string().transform((text) => text.split(',').map((one) => one.trim()).filter((one) => one !== '')); // prettier-ignore

function isRedisUrl(text: string): boolean {
  const url = URL.canParse(text) ? new URL(text) : null;
  return url !== null && /^rediss?:$/.test(url.protocol) && url.hostname !== '';
}

function isDatabaseUrl(text: string): boolean {
  const url = URL.canParse(text) ? new URL(text) : null;
  return url !== null && /^postgres(ql)?:$/.test(url.protocol) && url.hostname !== '' && url.pathname.length > 1;
}

function isHttpUrl(text: string): boolean {
  return URL.canParse(text) && /^https?:$/.test(new URL(text).protocol);
}

const webhookOrigin = z.string().transform((text, context) => {
  const origin = originOf(text);
  if (origin !== null) return origin;
  context.addIssue(`https://host[:port], http://host[:port] or a host expected, received "${text}"`);
  return z.NEVER;
});
const addressRange = z.string().refine(isAddressRange, 'a range of addresses expected, for example 10.0.0.0/8');
const webhookSecret = z.string().refine(isWebhookSecret, 'base64 of 24 to 64 bytes expected').transform(secretBase64);
const studioWebhookSecret = named
  .transform(({ studio, rest }) => ({ studio, secret: rest }))
  .pipe(z.object({ studio: studioName, secret: webhookSecret }));

interface Setting<T> {
  schema: z.ZodType<T, unknown>;
  /** As it would be written in the environment; a function where it depends on the machine. */
  preset: string | ((environment: NodeJS.ProcessEnv) => string);
  about: string;
}

const setting = <T>(
  schema: z.ZodType<T, unknown>,
  preset: string | ((environment: NodeJS.ProcessEnv) => string),
  about: string,
): Setting<T> => ({
  schema,
  preset,
  about,
});

/**
 * Every environment variable that the service reads, with its preset and meaning. The README's table and the
 * compose file are checked against this one. Names are plain; none starts with `STOPLEDGER_`.
 */
export const SETTINGS = {
  HOST: setting(z.string().min(1), '127.0.0.1', 'address to listen on'),
  PORT: setting(whole(0, 65_535), '4180', 'port to listen on; 0 takes a free one'),
  DATA_DIR: setting(z.string().min(1).transform((path) => resolve(path)), './data', 'folder of the shoot records and frame files'), // prettier-ignore
  WORKERS: setting(whole(0, 256), () => String(availableParallelism()), 'measuring processes; 0 with REDIS_URL: this process only serves'), // prettier-ignore
  REDIS_URL: setting(z.string().refine((url) => url === '' || isRedisUrl(url), 'redis://[user:password@]host:port[/database] expected, or rediss:// over TLS'), '', 'Redis that carries frames to workers on any machine; empty measures in this process alone'), // prettier-ignore
  REDIS_PREFIX: setting(z.string().regex(/^[A-Za-z0-9_-]{1,64}$/, 'letters, digits, - and _ expected'), 'stopledger', 'beginning of all keys in Redis; the same for a service and its workers'), // prettier-ignore
  DATABASE_URL: setting(z.string().refine((url) => url === '' || isDatabaseUrl(url), 'postgres://[user:password@]host[:port]/database expected'), '', 'PostgreSQL of the shoot records for several API processes, with REDIS_URL; empty keeps them in DATA_DIR'), // prettier-ignore
  FRAME_FILES: setting(z.enum(['folder', 'bucket', 'api']), 'folder', 'folder: frame files are in DATA_DIR; bucket: in S3_BUCKET; api: a worker gets them from FRAME_API_URL'), // prettier-ignore
  S3_BUCKET: setting(z.string(), '', 'bucket of the frame files, on Amazon S3 or any server of its protocol'),
  S3_ENDPOINT: setting(z.string().refine((url) => url === '' || isHttpUrl(url), 'http:// or https:// expected'), '', 'address of that server; empty: Amazon’s own of the region'), // prettier-ignore
  S3_REGION: setting(z.string().min(1), 'us-east-1', 'region of the bucket'),
  S3_PREFIX: setting(z.string().regex(/^([A-Za-z0-9._-]+\/)*$/, 'empty, or names that each end in / expected'), '', 'beginning of all keys in the bucket'), // prettier-ignore
  S3_ACCESS_KEY_ID: setting(z.string(), '', 'key of the bucket; empty: found as Amazon’s tools find it'),
  S3_SECRET_ACCESS_KEY: setting(z.string(), '', 'secret of that key'),
  FRAME_API_URL: setting(z.string().refine((url) => url === '' || isHttpUrl(url), 'http:// or https:// expected'), '', 'address of the service, for workers with FRAME_FILES=api'), // prettier-ignore
  FRAME_API_SECRET: setting(z.string().refine((secret) => secret === '' || secret.length >= 32, 'at least 32 characters expected'), '', 'secret that the service and workers with FRAME_FILES=api share; empty: the service hands out no frames'), // prettier-ignore
  FRAME_TIMEOUT_SECONDS: setting(z.coerce.number().min(0.05).max(3600), '120', 'a frame that takes longer is stopped and tried again'), // prettier-ignore
  FRAME_MAX_ATTEMPTS: setting(whole(1, 10), '3', 'how often a frame is tried before it stands in the report as failed'),
  MAX_FRAME_BYTES: setting(whole(1, 2 ** 40), String(512 * 1024 ** 2), 'largest file taken'),
  MAX_FRAMES_PER_SHOOT: setting(whole(1, 1_000_000), '100000', 'most frames taken in one shoot'),
  MAX_REQUESTS_PER_MINUTE: setting(whole(0, 10_000_000), '0', 'most requests that one studio, or one address without a studio, is answered in a minute; 0 sets no limit'), // prettier-ignore
  MAX_EVENT_STREAMS: setting(whole(1, 100_000), '1000', 'most open event streams'),
  MAX_WAIT_SECONDS: setting(whole(0, 3600), '300', 'longest wait that ?wait= may ask for'),
  REQUEST_TIMEOUT_SECONDS: setting(whole(1, 86_400), '1800', 'longest time that receiving one request may take'),
  SHUTDOWN_SECONDS: setting(whole(0, 3600), '20', 'time to end what runs after SIGTERM'),
  API_TOKENS: setting(list.pipe(z.array(token)), '', 'bearer tokens that may do everything in all shoots, separated by commas; without these and STUDIO_TOKENS everyone is let in'), // prettier-ignore
  STUDIO_TOKENS: setting(list.pipe(z.array(studioToken)), '', 'bearer tokens of one studio each, separated by commas: studio:scopes:token, scopes of read, send and delete joined by +; sees the shoots that this studio made and no others'), // prettier-ignore
  ALLOW_OPEN_NETWORK: setting(flag, 'false', 'true: listen beyond this machine without tokens'),
  METRICS_TOKEN: setting(
    z.union([z.literal(''), token]),
    '',
    'bearer token that may read /metrics and nothing else; those of API_TOKENS may as well',
  ),
  WEBHOOK_ALLOW: setting(list.pipe(z.array(webhookOrigin)), '', 'origins that webhooks may go to, separated by commas: https://host[:port], or a host for https; empty: no webhooks'), // prettier-ignore
  WEBHOOK_PRIVATE: setting(list.pipe(z.array(addressRange)), '', 'address ranges (CIDR) of your own network that those origins may lie in, for example 10.0.0.0/8; empty: public addresses only'), // prettier-ignore
  WEBHOOK_SECRET: setting(list.pipe(z.array(webhookSecret)), '', 'secret that signs webhooks: base64 of 24 to 64 bytes, whsec_ before it or not; two, separated by a comma, while it is changed'), // prettier-ignore
  STUDIO_WEBHOOK_SECRETS: setting(list.pipe(z.array(studioWebhookSecret)), '', 'the same of one studio each, separated by commas: studio:secret; its webhooks are signed by these and not by WEBHOOK_SECRET'), // prettier-ignore
  RETAIN_DAYS: setting(z.coerce.number().min(0).max(36_500), '0', 'shoots complete, or untouched, for so many days are deleted; 0 keeps all'), // prettier-ignore
  MIN_FREE_BYTES: setting(whole(0, 2 ** 50), String(256 * 1024 ** 2), 'free disk space under which /readyz says that there is too little'), // prettier-ignore
  CALIBRATIONS: setting(z.string().min(1).transform((path) => resolve(path)), (environment) => defaultCalibrationFile(environment), 'file of camera calibrations, as `calibrate` keeps it; read at start'), // prettier-ignore
  LOG_LEVEL: setting(z.enum(['trace', 'debug', 'info', 'warn', 'error', 'fatal', 'silent']), 'info', 'least severity that is logged'), // prettier-ignore
} as const;

export type Values = { [K in keyof typeof SETTINGS]: z.output<(typeof SETTINGS)[K]['schema']> };

/** What was set is not repeated in messages. */
export const SECRETS = new Set<string>(['API_TOKENS', 'STUDIO_TOKENS', 'REDIS_URL', 'DATABASE_URL', 'S3_ACCESS_KEY_ID', 'S3_SECRET_ACCESS_KEY', 'FRAME_API_SECRET', 'METRICS_TOKEN', 'WEBHOOK_SECRET', 'STUDIO_WEBHOOK_SECRETS']); // prettier-ignore
