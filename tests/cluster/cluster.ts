import { randomBytes } from 'node:crypto';
import { mkdirSync, mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { POSTGRES_INSTALLED, type PostgresServer, startPostgres } from '../support/postgres-server.js';
import { REDIS_INSTALLED, type RedisServer, freePort, startRedis } from '../support/redis-server.js';
import { composeCommand } from './compose-commands.js';
import { type LogLine, type Member, type MemberOptions, member } from './member.js';

/** What a cluster needs and this machine lacks, in words; empty when all is here. */
export function whatIsMissing(): string[] {
  const missing: string[] = [];
  if (!REDIS_INSTALLED) missing.push('redis-server is not installed (Debian: apt-get install redis-server)');
  if (!POSTGRES_INSTALLED) missing.push('postgresql is not installed (Debian: apt-get install postgresql)');
  return missing;
}

export const CLUSTER_INSTALLED = REDIS_INSTALLED && POSTGRES_INSTALLED;
/** Stands in the names of tests, so that a run says why it left some out. */
export const CLUSTER_NOTE = CLUSTER_INSTALLED ? '' : ` (skipped: ${whatIsMissing().join('; ')})`;

export interface ClusterOptions {
  apis: number;
  workers: number;
  from: MemberOptions['from'];
  /** Behind those of docker-compose.yml. */
  redisArgs?: readonly string[];
  /** Worker process in place of the real one, a TypeScript file. */
  workerEntry?: string;
  /** In place of those of docker-compose.yml, for services and workers. */
  environment?: Readonly<Record<string, string>>;
  /** In place of the presets, for workers only. */
  workerEnvironment?: Readonly<Record<string, string>>;
  /** Where frames are kept; a folder of its own unless given. */
  dataDir?: string;
  onLine?: (member: string, line: LogLine) => void;
}

export interface Api extends Member {
  url: string;
}

/** The processes of docker-compose.yml on loopback, on spare ports. */
export interface Cluster {
  redis: RedisServer;
  redisUrl: string;
  postgres: PostgresServer;
  apis: Api[];
  workers: Member[];
  /** Holds frames, logs and everything else that goes with the cluster. */
  folder: string;
  dataDir: string;
  /** What every request carries. */
  headers: { authorization: string };
  /** What was run, one line a process. */
  shown: string[];
  /** Ends every process that was started, by its id, and removes the folder. */
  stop(): Promise<void>;
}

const running = new Set<Cluster>();

/** A command that is told to end (SIGINT, SIGTERM) ends what it started first. */
export function stopClustersOnSignal(): void {
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.once(signal, () => {
      void Promise.allSettled([...running].map((cluster) => cluster.stop())).then(() => process.exit(1));
    });
  }
}

const secret = (): string => randomBytes(16).toString('hex');

/** A process that ends early leaves nothing running. */
function killAtExit(members: readonly { pid(): number | null }[]): () => void {
  const killAll = (): void => {
    for (const one of members) {
      const pid = one.pid();
      if (pid !== null) process.kill(pid, 'SIGKILL');
    }
  };
  process.once('exit', killAll);
  return () => process.off('exit', killAll);
}

/** Starts Redis, PostgreSQL, services and workers with the very commands and settings of docker-compose.yml. */
export async function startCluster(options: ClusterOptions): Promise<Cluster> {
  const { workerEntry } = options;
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-cluster-'));
  const dataDir = options.dataDir ?? join(folder, 'data');
  mkdirSync(dataDir, { recursive: true });
  const values = { REDIS_PASSWORD: secret(), POSTGRES_PASSWORD: secret(), API_TOKENS: secret() };
  const redisCommand = composeCommand('redis', values);
  const redis = await startRedis([...redisCommand.args, ...(options.redisArgs ?? [])]);
  const postgres = await startPostgres();
  const databaseUrl = await postgres.newDatabase();
  const redisUrl = `redis://:${values.REDIS_PASSWORD}@127.0.0.1:${redis.port}`;
  const shown = [`redis-server ${redisCommand.args.filter((arg) => arg !== values.REDIS_PASSWORD).join(' ')} --port ${redis.port}`, `postgres -p ${postgres.port}`]; // prettier-ignore

  const inside = (service: 'api' | 'worker', more: Readonly<Record<string, string>>): MemberOptions['command'] => {
    const command = composeCommand(service, values);
    const here: Record<string, string> = { DATA_DIR: dataDir, REDIS_URL: redisUrl };
    if (service === 'api') {
      Object.assign(here, {
        HOST: '127.0.0.1',
        DATABASE_URL: databaseUrl,
        CALIBRATIONS: join(dataDir, 'calibrations'),
      });
    }
    const args = service === 'worker' && workerEntry !== undefined ? ['--import', 'tsx', workerEntry] : command.args;
    return { ...command, args, environment: { ...command.environment, ...here, ...options.environment, ...more } };
  };
  const made = (name: string, readyMessage: string, command: MemberOptions['command']): Member =>
    member({
      name,
      command,
      from: options.from,
      readyMessage,
      logFile: join(folder, `${name}.log`),
      ...(options.onLine === undefined ? {} : { onLine: (line) => options.onLine?.(name, line) }),
    });

  const apis: Api[] = [];
  for (let number = 1; number <= options.apis; number += 1) {
    const PORT = String(await freePort());
    const api = made(`api-${number}`, 'listening', inside('api', { PORT }));
    apis.push({ ...api, url: `http://127.0.0.1:${PORT}` });
  }
  const workers = Array.from({ length: options.workers }, (_, index) =>
    made(`worker-${index + 1}`, 'taking frames', inside('worker', options.workerEnvironment ?? {})),
  );
  const members: Member[] = [...apis, ...workers];
  const dontKillAtExit = killAtExit([...members, redis, postgres]);

  let stopping: Promise<void> | null = null;
  const cluster: Cluster = {
    redis,
    redisUrl,
    postgres,
    apis,
    workers,
    folder,
    dataDir,
    headers: { authorization: `Bearer ${values.API_TOKENS}` },
    shown,
    stop: () => (stopping ??= stopAll()),
  };
  async function stopAll(): Promise<void> {
    await Promise.all(members.map((one) => one.kill('SIGTERM')));
    await redis.remove();
    await postgres.remove();
    dontKillAtExit();
    running.delete(cluster);
    await rm(folder, { recursive: true, force: true, maxRetries: 3 });
  }
  running.add(cluster);
  try {
    await Promise.all(members.map((one) => one.start()));
  } catch (error) {
    await cluster.stop();
    throw error;
  }
  for (const [index, one] of members.entries()) {
    shown.push(`${one.shown} (${one.name}${index < apis.length ? ` at ${apis[index]?.url}` : ''})`);
  }
  return cluster;
}
