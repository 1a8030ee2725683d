import { availableParallelism } from 'node:os';
import { resolve } from 'node:path';
import { z } from 'zod';
import { StopledgerError } from './errors.js';
import { defaultCalibrationFile } from './store/calibration-file.js';
import type { BucketAddress } from './store/s3/bucket.js';

const LOOPBACK = new Set(['localhost', '::1', '[::1]']);

/** True for addresses that only this machine can reach. */
export function isLoopback(host: string): boolean {
  return LOOPBACK.has(host.toLowerCase()) || /^127(\.\d{1,3}){3}$/.test(host);
}

const whole = (least: number, most: number) => z.coerce.number().int().min(least).max(most);
const flag = z.enum(['true', 'false']).transform((word) => word === 'true');
const token = z
  .string()
  .min(16, 'each token needs at least 16 characters')
  .regex(/^[\x21-\x7e]+$/, 'a token is printable ASCII without spaces');

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

/** What was set is not repeated in messages. */
const SECRETS = new Set<string>(['API_TOKENS', 'REDIS_URL', 'DATABASE_URL', 'S3_ACCESS_KEY_ID', 'S3_SECRET_ACCESS_KEY', 'FRAME_API_SECRET']); // prettier-ignore

/** A bucket's server copies no larger object inside itself in one request (Amazon S3, CopyObject). */
const MOST_BUCKET_FRAME_BYTES = 5 * 1024 ** 3;

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
  MAX_EVENT_STREAMS: setting(whole(1, 100_000), '1000', 'most open event streams'),
  MAX_WAIT_SECONDS: setting(whole(0, 3600), '300', 'longest wait that ?wait= may ask for'),
  REQUEST_TIMEOUT_SECONDS: setting(whole(1, 86_400), '1800', 'longest time that receiving one request may take'),
  SHUTDOWN_SECONDS: setting(whole(0, 3600), '20', 'time to end what runs after SIGTERM'),
  API_TOKENS: setting(z.string().transform((list) => list.split(',').map((one) => one.trim()).filter((one) => one !== '')).pipe(z.array(token)), '', 'bearer tokens that may use the API, separated by commas; empty lets everyone in'), // prettier-ignore
  ALLOW_OPEN_NETWORK: setting(flag, 'false', 'true: listen beyond this machine without tokens'),
  CALIBRATIONS: setting(z.string().min(1).transform((path) => resolve(path)), (environment) => defaultCalibrationFile(environment), 'file of camera calibrations, as `calibrate` keeps it; read at start'), // prettier-ignore
  LOG_LEVEL: setting(z.enum(['trace', 'debug', 'info', 'warn', 'error', 'fatal', 'silent']), 'info', 'least severity that is logged'), // prettier-ignore
} as const;

type Values = { [K in keyof typeof SETTINGS]: z.output<(typeof SETTINGS)[K]['schema']> };

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
  readonly maxEventStreams: number;
  readonly maxWaitSeconds: number;
  readonly requestTimeoutSeconds: number;
  readonly shutdownSeconds: number;
  readonly apiTokens: readonly string[];
  readonly calibrations: string;
  readonly logLevel: Values['LOG_LEVEL'];
}

/** Beginnings of names that only this program would set: a mistyped one is refused instead of ignored. */
const OURS = /^(STOPLEDGER_|FRAME_|MAX_FRAME|MAX_EVENT_|MAX_WAIT_|API_TOKEN)/;

/** What is wrong with values that are each right; null when nothing is. */
function unfitTogether(values: Values): string | null {
  if (!isLoopback(values.HOST) && values.API_TOKENS.length === 0 && !values.ALLOW_OPEN_NETWORK) {
    return (
      `HOST is ${values.HOST}, which other machines can reach, and API_TOKENS is empty: set API_TOKENS, ` +
      'or ALLOW_OPEN_NETWORK=true to let everyone in'
    );
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
    maxEventStreams: values.MAX_EVENT_STREAMS,
    maxWaitSeconds: values.MAX_WAIT_SECONDS,
    requestTimeoutSeconds: values.REQUEST_TIMEOUT_SECONDS,
    shutdownSeconds: values.SHUTDOWN_SECONDS,
    apiTokens: Object.freeze(values.API_TOKENS),
    calibrations: values.CALIBRATIONS,
    logLevel: values.LOG_LEVEL,
  });
}
