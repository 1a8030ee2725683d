import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Redis } from 'ioredis';
import Database from 'libsql';
import pg from 'pg';
import { describe, expect, it, onTestFinished } from 'vitest';
import { type HookReceiver, hookReceiver } from '../support/hook-receiver.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, startPostgres } from '../support/postgres-server.js';
import { WORKER_ENTRY, startLogged } from '../support/processes.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, startRedis } from '../support/redis-server.js';
import { startS3 } from '../support/s3-server.js';
import { newShoot, put, serviceForTest, type ServiceUnderTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

const SECRET = Buffer.alloc(32, 9).toString('base64');
const webhooksTo = ({ origin }: HookReceiver): Record<string, string> => ({
  WEBHOOK_ALLOW: origin,
  WEBHOOK_PRIVATE: '127.0.0.0/8',
  WEBHOOK_SECRET: SECRET,
});
const idOf = (shoot: string): string => shoot.split('/').pop() ?? '';

/** Shoots in every state in which one can be deleted; their frames are held by a gate where they run. */
async function shootsInEveryState({ url }: ServiceUnderTest, receiver: HookReceiver, gate: string): Promise<string[]> {
  receiver.answer = (response) => response.writeHead(500).end();
  const webhook = { url: receiver.origin };
  const done = await newShoot(url, { name: 'done', webhook });
  await put(done, '1.jpg', 'measure 1');
  await put(done, 'broken.jpg', 'refuse frame-corrupt');
  await fetch(`${done}/complete`, { method: 'POST' });
  expect((await fetch(`${done}/report?wait=60`)).status).toBe(200);
  expect((await fetch(`${done}/frames/1.jpg/overlay`)).status).toBe(200);
  // A webhook that nobody takes waits for its next attempt.
  await until(async () => receiver.received.length === 2 && (await (await fetch(`${done}/webhooks`)).text()).includes('answered 500'));
  const running = await newShoot(url, { name: 'running', webhook });
  await put(running, 'held.jpg', `wait-for ${gate}`);
  await until(async () => (await (await fetch(running)).text()).includes('"measuring":1'));
  for (const name of ['2.jpg', '3.jpg']) await put(running, name, `measure ${name}`);
  return [done, running, await newShoot(url, { name: 'empty', webhook })];
} // prettier-ignore

/** Names of all files under a folder, and what small ones hold. */
function everythingIn(folder: string): string {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .map((entry) => {
      const path = join(entry.parentPath, entry.name);
      return entry.isFile() && !/\.sqlite/.test(entry.name) ? `${path}\n${readFileSync(path, 'latin1')}` : path;
    })
    .join('\n');
}

function everythingInSqlite(file: string): string {
  const database = new Database(file, { readonly: true });
  const tables = database.prepare(`select name from sqlite_master where type = 'table'`).all([]) as { name: string }[];
  const told = tables.map(({ name }) => `${name}: ${JSON.stringify(database.prepare(`select * from "${name}"`).all([]))}`);
  database.close();
  return told.join('\n');
} // prettier-ignore

async function everythingInPostgres(url: string): Promise<string> {
  const client = new pg.Client(url);
  await client.connect();
  try {
    const { rows } = await client.query<{ name: string }>(`select table_name as name from information_schema.tables where table_schema = 'public'`);
    const told: string[] = [];
    for (const { name } of rows) told.push(`${name}: ${JSON.stringify((await client.query(`select * from "${name}"`)).rows)}`);
    return told.join('\n');
  } finally {
    await client.end();
  }
} // prettier-ignore

/** Every key of a Redis and all that it holds. */
async function everythingInRedis(redis: Redis): Promise<string> {
  const told: string[] = [];
  for (const key of await redis.keys('*')) {
    const type = await redis.type(key);
    const held =
      type === 'string' ? await redis.get(key)
      : type === 'hash' ? await redis.hgetall(key)
      : type === 'set' ? await redis.smembers(key)
      : type === 'zset' ? await redis.zrange(key, '0', '-1')
      : type === 'list' ? await redis.lrange(key, 0, -1)
      : await redis.xrange(key, '-', '+');
    told.push(`${key}: ${JSON.stringify(held)}`);
  }
  return told.join('\n');
} // prettier-ignore

describe('a shoot that is deleted leaves nothing', () => {
  it('of a process alone: no row, no file, not even while a frame of it is measured', async () => {
    const receiver = await hookReceiver();
    const service = await serviceForTest(webhooksTo(receiver));
    const gate = join(temporaryFolder(), 'gate');
    const shoots = await shootsInEveryState(service, receiver, gate);
    const everything = () => everythingIn(service.dataDir) + everythingInSqlite(join(service.dataDir, 'shoots.sqlite'));
    const traces = () => shoots.filter((shoot) => everything().includes(idOf(shoot)));
    expect(traces()).toEqual(shoots);
    for (const shoot of shoots) expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
    expect(traces()).toEqual([]);
    writeFileSync(gate, '');
    // The next frame is measured after the one that was under way.
    const next = await newShoot(service.url);
    await put(next, 'next.jpg', 'measure next');
    expect((await fetch(`${next}/report?wait=60`)).status).toBe(200);
    expect(traces()).toEqual([]);
    for (const shoot of shoots) expect((await fetch(shoot)).status).toBe(404);
  });

  it.skipIf(!REDIS_INSTALLED)(
    `in a bucket that is away meanwhile: it is removed when the bucket is back, also after a restart${REDIS_NOTE}`,
    async () => {
      const [redis, s3] = [await startRedis(), await startS3()];
      onTestFinished(async () => {
        await redis.remove();
        await s3.remove();
      });
      const address = { ...s3.newAddress(), prefix: 'gone/' };
      const environment = { REDIS_URL: redis.url, FRAME_FILES: 'bucket', S3_BUCKET: address.bucket, S3_ENDPOINT: address.endpoint, S3_PREFIX: address.prefix, S3_ACCESS_KEY_ID: address.accessKeyId, S3_SECRET_ACCESS_KEY: address.secretAccessKey, DATA_DIR: temporaryFolder() }; // prettier-ignore
      const first = await serviceForTest(environment);
      const shoot = await newShoot(first.url);
      await put(shoot, '1.jpg', 'measure 1');
      expect((await fetch(`${shoot}/report?wait=60`)).status).toBe(200);
      expect(s3.countFiles(address)).toBe(3);
      s3.refuse = /./;
      expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
      expect((await fetch(shoot)).status).toBe(404);
      expect(s3.countFiles(address)).toBe(3);
      await first.close();
      s3.refuse = null;
      await serviceForTest(environment);
      expect(s3.countFiles(address)).toBe(0);
      expect(everythingInSqlite(join(environment.DATA_DIR, 'shoots.sqlite'))).not.toContain(idOf(shoot));
    },
  );

  it.skipIf(!REDIS_INSTALLED || !POSTGRES_INSTALLED)(
    `past one machine: no key, no job, no row, no object and no copy at a worker${REDIS_NOTE}${POSTGRES_NOTE}`,
    async () => {
      const [redis, postgres, s3, receiver] = [await startRedis(), await startPostgres(), await startS3(), await hookReceiver()]; // prettier-ignore
      onTestFinished(async () => {
        for (const server of [redis, postgres, s3]) await server.remove();
      });
      const address = { ...s3.newAddress(), prefix: 'gone/' };
      const database = await postgres.newDatabase();
      const environment = { ...webhooksTo(receiver), REDIS_URL: redis.url, REDIS_PREFIX: newPrefix(), FRAME_FILES: 'bucket', S3_BUCKET: address.bucket, S3_ENDPOINT: address.endpoint, S3_PREFIX: address.prefix, S3_ACCESS_KEY_ID: address.accessKeyId, S3_SECRET_ACCESS_KEY: address.secretAccessKey }; // prettier-ignore
      const service = await serviceForTest({ ...environment, DATABASE_URL: database, WORKERS: '0' });
      const workerFolder = temporaryFolder();
      await startLogged(WORKER_ENTRY, 'taking frames', { ...environment, WEBHOOK_ALLOW: '', DATA_DIR: workerFolder, WORKERS: '1', SHUTDOWN_SECONDS: '0' }); // prettier-ignore
      const client = new Redis(redis.url);
      onTestFinished(() => {
        client.disconnect();
      });
      const gate = join(temporaryFolder(), 'gate');
      const shoots = await shootsInEveryState(service, receiver, gate);
      const everything = async (): Promise<string> =>
        (await everythingInRedis(client)) + (await everythingInPostgres(database)) + everythingIn(workerFolder);
      const traces = async () => {
        const text = await everything();
        return shoots.filter((shoot) => text.includes(idOf(shoot)));
      };
      expect(await traces()).toEqual(shoots);
      expect(s3.countFiles(address)).toBeGreaterThan(0);
      for (const shoot of shoots) expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
      writeFileSync(gate, '');
      // The one that was under way ends, and its outcome is dropped.
      await until(async () => (await traces()).length === 0 && s3.countFiles(address) === 0);
      const jobs = (await client.keys('*')).filter((key) => /:(webhooks|frames):(msg_|f-)|:(result|dropped|claim|shoot):/.test(key)); // prettier-ignore
      expect(jobs).toEqual([]);
      expect(readdirSync(workerFolder, { recursive: true })).toEqual(['fetched']);

      // The log of all this names shoots and frames, and no secret and no bytes.
      const lines = service.logged.map((line) => JSON.parse(line) as Record<string, unknown>);
      const about = (msg: string) => lines.find((line) => line.msg === msg);
      const [done] = shoots.map(idOf);
      expect(about('frame measured')).toMatchObject({ shootId: done, frameName: '1.jpg' });
      expect(about('frame failed')).toMatchObject({ shootId: done, frameName: 'broken.jpg', code: 'frame-corrupt' });
      const { pathname } = new URL(`${shoots[0]}/frames/1.jpg`);
      expect(lines.find(({ path }) => path === pathname)).toMatchObject({ shootId: done, frameName: '1.jpg' });
      const log = service.logged.join('');
      const { password } = new URL(database);
      for (const secret of [SECRET, database, password, address.secretAccessKey, 'measure 1']) expect(log).not.toContain(secret); // prettier-ignore
    },
  );
});
