import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { Queue } from 'bullmq';
import { Redis } from 'ioredis';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import type { MeasureJob } from '../../src/contracts/jobs.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootReport } from '../../src/contracts/report.js';
import { MEASURING_VERSIONS } from '../../src/version.js';
import { readConfig } from '../../src/config.js';
import { openBullmqQueue } from '../../src/queue/bullmq-queue.js';
import { openFrameSource } from '../../src/queue/open-frame-source.js';
import { jobIdOf } from '../../src/queue/redis/keys.js';
import type { MeasureOutcome } from '../../src/queue/port.js';
import { SERVICE_ENTRY, WORKER_ENTRY, startLogged, type StartedProcess } from '../support/processes.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile, startRedis } from '../support/redis-server.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

/** Looks again until it is so; the test's own time limit is the one for what never comes. */
async function until(so: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await so())) await setImmediate();
}

async function reportOf(shoot: string): Promise<ShootReport> {
  await fetch(`${shoot}/complete`, { method: 'POST' });
  return ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
}

const measuredIn = (report: ShootReport): string[] =>
  report.frames.filter(({ verdict }) => verdict !== 'unreadable').map(({ name }) => name).sort(); // prettier-ignore

describe.skipIf(!REDIS_INSTALLED)(`the service over Redis${REDIS_NOTE}`, { timeout: 180_000 }, () => {
  const redis = redisForFile();
  let prefix = '';
  let environment: Record<string, string> = {};
  let client: Redis;

  beforeEach(() => {
    prefix = newPrefix();
    environment = { REDIS_URL: redis().url, REDIS_PREFIX: prefix };
    client = new Redis(redis().url);
    onTestFinished(() => {
      client.disconnect();
    });
  });

  const worker = (dataDir: string, more: Record<string, string> = {}): Promise<StartedProcess> =>
    startLogged(WORKER_ENTRY, 'taking frames', {
      ...environment,
      DATA_DIR: dataDir,
      WORKERS: '1',
      SHUTDOWN_SECONDS: '0',
      ...more,
    });
  /** Keys that speak of a job or a shoot. */
  const leftOver = async (): Promise<string[]> =>
    (await client.keys(`${prefix}:*`)).filter((key) => !/:frames:(id|meta|events|pc|marker|stalled-check)$/.test(key));

  it('measures in worker processes alone, and leaves no job and no result', async () => {
    const service = await serviceForTest({ ...environment, WORKERS: '0' });
    await worker(service.dataDir);
    const shoot = await newShoot(service.url);
    for (const name of ['1.jpg', '2.jpg', '3.jpg']) await put(shoot, name, `measure ${name}`);
    await put(shoot, 'broken.jpg', 'refuse frame-corrupt');
    const report = await reportOf(shoot);
    expect(measuredIn(report)).toEqual(['1.jpg', '2.jpg', '3.jpg']);
    expect(report.summary.unreadable).toBe(1);
    const measurement = (await (await fetch(`${shoot}/frames/1.jpg`)).json()) as {
      measuredWith: Record<string, string>;
    };
    expect(measurement.measuredWith).toMatchObject({ ...MEASURING_VERSIONS, node: process.versions.node });
    expect(Object.keys(measurement.measuredWith)).toEqual(expect.arrayContaining(['stopledger', 'sharp', 'libraw-wasm', 'libheif-js', '@litertjs/core'])); // prettier-ignore
    expect(service.logged.join('')).toMatch(/"worker":"[^"]+\/\d+","versions":{"stopledger":"[^"]+","node":/);
    await until(async () => (await leftOver()).filter((key) => !key.endsWith(':rounds')).length === 0);
  });

  it('replaces the process of a frame that hangs, fails it by its reason and measures the next', async () => {
    const service = await serviceForTest({ ...environment, FRAME_TIMEOUT_SECONDS: '5', FRAME_MAX_ATTEMPTS: '2' });
    const shoot = await newShoot(service.url);
    await put(shoot, 'hangs.jpg', 'hang');
    await put(shoot, 'fine.jpg', 'measure');
    const report = await reportOf(shoot);
    expect(measuredIn(report)).toEqual(['fine.jpg']);
    expect(report.frames.find(({ name }) => name === 'hangs.jpg')?.flags[0]?.because).toMatch(
      /within 5 s.*tried 2 times/,
    );
  });

  it('answers uploads while Redis is away, says so in readyz, and measures when it is back', async () => {
    const own = await startRedis();
    onTestFinished(() => own.remove());
    const service = await serviceForTest({ ...environment, REDIS_URL: own.url });
    const shoot = await newShoot(service.url);
    await own.stop();
    await until(async () => (await fetch(`${service.url}/readyz`)).status === 503);
    expect((await put(shoot, '1.jpg', 'measure 1')).status).toBe(201);
    expect(await (await fetch(`${service.url}/readyz`)).json()).toMatchObject({
      missing: ['redis'],
      parts: { database: 'ok' },
    });
    await own.restart();
    expect(measuredIn(await reportOf(shoot))).toEqual(['1.jpg']);
  });

  it('adds again what Redis forgot', async () => {
    const service = await serviceForTest({ ...environment, WORKERS: '0' });
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', 'measure 1');
    for (const key of await client.keys(`${prefix}:*`)) await client.del(key);
    await worker(service.dataDir);
    expect(measuredIn(await reportOf(shoot))).toEqual(['1.jpg']);
  });

  it('leaves no job, no result and no key of a shoot that is deleted', async () => {
    const service = await serviceForTest({ ...environment, WORKERS: '1' });
    const gate = join(service.dataDir, 'gate');
    const shoot = await newShoot(service.url);
    await put(shoot, 'runs.jpg', `wait-for ${gate}`);
    await until(() => service.logged.length > 0);
    for (const name of ['1.jpg', '2.jpg']) await put(shoot, name, `measure ${name}`);
    await until(async () => (await client.llen(`${prefix}:frames:active`)) === 1);
    expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
    writeFileSync(gate, '');
    await until(async () => (await leftOver()).length === 0);
  });

  it('hands a frame back at SIGTERM, which another worker measures', async () => {
    const service = await serviceForTest({ ...environment, WORKERS: '0' });
    const gate = join(service.dataDir, 'gate');
    const first = await worker(service.dataDir);
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', `wait-for ${gate}`);
    await until(async () => (await client.llen(`${prefix}:frames:active`)) === 1);
    expect(await first.kill('SIGTERM')).toBe(0);
    expect(await client.llen(`${prefix}:frames:active`)).toBe(0);
    writeFileSync(gate, '');
    await worker(service.dataDir);
    expect(measuredIn(await reportOf(shoot))).toEqual(['1.jpg']);
  });

  it('measures everything once when workers are killed in the middle', async () => {
    const service = await serviceForTest({ ...environment, WORKERS: '0', FRAME_MAX_ATTEMPTS: '3' });
    const gate = join(service.dataDir, 'gate');
    // A dead worker's lock lasts a little longer than this, in which a process must have started, too.
    const shortLock = { FRAME_TIMEOUT_SECONDS: '10' };
    const workers = [await worker(service.dataDir, shortLock), await worker(service.dataDir, shortLock)];
    const shoot = await newShoot(service.url);
    const names = Array.from({ length: 30 }, (_, index) => `${index}.jpg`);
    for (const [index, name] of names.entries()) {
      await put(shoot, name, index < 20 ? `measure ${name}` : `wait-for ${gate} ${name}`);
    }
    // Two frames are held by both workers when one of them dies.
    await until(async () => (await client.llen(`${prefix}:frames:active`)) === 2);
    await workers[0]?.kill('SIGKILL');
    writeFileSync(gate, '');
    const report = await reportOf(shoot);
    expect(measuredIn(report)).toEqual([...names].sort());
    const stored = service.logged.filter((line) => line.includes('"frame measured"'));
    expect(stored).toHaveLength(names.length);
  });

  it('loses nothing when Redis is killed in the middle', async () => {
    const own = await startRedis(['--appendonly', 'yes', '--appendfsync', 'always']);
    onTestFinished(() => own.remove());
    environment = { ...environment, REDIS_URL: own.url };
    const service = await serviceForTest({ ...environment, WORKERS: '0' });
    // What Redis gave out as it was killed, nobody heard of: it is given out again when its lock has ended.
    await worker(service.dataDir, { FRAME_TIMEOUT_SECONDS: '10' });
    const shoot = await newShoot(service.url);
    const names = Array.from({ length: 40 }, (_, index) => `${index}.jpg`);
    for (const [index, name] of names.entries()) {
      if (index === 15) await own.stop();
      expect((await put(shoot, name, `measure ${name}`)).status).toBe(201);
      if (index === 30) await own.restart();
    }
    expect(measuredIn(await reportOf(shoot))).toEqual([...names].sort());
    expect(service.logged.filter((line) => line.includes('"frame measured"'))).toHaveLength(names.length);
  });

  it('measures what was acknowledged before the service was killed', async () => {
    const dataDir = temporaryFolder();
    const start = (): Promise<StartedProcess> =>
      startLogged(SERVICE_ENTRY, 'listening', { ...environment, PORT: '0', DATA_DIR: dataDir, WORKERS: '0' });
    const first = await start();
    await worker(dataDir);
    const gate = join(dataDir, 'gate');
    const shoot = new URL(await newShoot(String(first.ready.url))).pathname;
    for (const name of ['1.jpg', '2.jpg']) await put(String(first.ready.url) + shoot, name, `wait-for ${gate} ${name}`);
    await first.kill('SIGKILL');
    writeFileSync(gate, '');
    expect(existsSync(gate)).toBe(true);
    // Finished while no service ran: found at the start.
    await until(async () => (await client.zcard(`${prefix}:frames:completed`)) === 2);
    const second = await start();
    expect(measuredIn(await reportOf(String(second.ready.url) + shoot))).toEqual(['1.jpg', '2.jpg']);
    expect(await second.kill('SIGTERM')).toBe(0);
  });

  it('keeps a result for as long as Redis has no room for it', async () => {
    const own = await startRedis();
    onTestFinished(() => own.remove());
    const full = new Redis(own.url);
    onTestFinished(() => {
      full.disconnect();
    });
    const service = await serviceForTest({ ...environment, REDIS_URL: own.url, FRAME_MAX_ATTEMPTS: '1' });
    const gate = join(service.dataDir, 'gate');
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', `wait-for ${gate}`);
    await until(async () => (await full.llen(`${prefix}:frames:active`)) === 1);
    await full.config('SET', 'maxmemory', '1');
    writeFileSync(gate, '');
    await until(() => service.logged.some((line) => line.includes('OOM')));
    await full.config('SET', 'maxmemory', '0');
    expect(measuredIn(await reportOf(shoot))).toEqual(['1.jpg']);
  });

  it('forgets a job that it cannot read, and says so', async () => {
    const service = await serviceForTest(environment);
    const queue = new Queue('frames', { connection: client, prefix });
    onTestFinished(() => queue.close());
    await queue.add('frame', { of: 'another version' }, { jobId: 'f-unreadable' });
    await until(() => service.logged.some((line) => line.includes('f-unreadable cannot be read')));
    await until(async () => (await leftOver()).length === 0);
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', 'measure 1');
    expect(measuredIn(await reportOf(shoot))).toEqual(['1.jpg']);
  });

  it('refuses to work where the service’s frames are not', async () => {
    const config = readConfig({ ...environment, DATA_DIR: temporaryFolder() });
    await expect(openFrameSource(config, 0)).rejects.toMatchObject({ code: 'bad-configuration' });
    const { dataDir } = await serviceForTest({ ...environment, WORKERS: '0' });
    await openFrameSource(readConfig({ ...environment, DATA_DIR: dataDir }), 0);
  });

  it('delivers an outcome once to services that share a queue', async () => {
    const told: MeasureOutcome[] = [];
    const link = { url: redis().url, prefix, onTrouble: () => undefined };
    const open = async () => {
      const queue = await openBullmqQueue({ link, maxAttempts: 2, unfinished: async function* () {}, isPending: () => Promise.resolve(false), onHandlerError: () => undefined, sweepMs: 20, backoffMs: 10 }); // prettier-ignore
      onTestFinished(() => queue.close(0));
      await queue.start({ onStarted() {}, onReleased() {}, onOutcome: (outcome) => void told.push(outcome) });
      return queue;
    };
    const queues = [await open(), await open()];
    const dataDir = temporaryFolder();
    const jobs = Array.from({ length: 12 }, (_, index): MeasureJob => ({
      shootId: 's',
      frameName: `${index}.jpg`,
      sha256: index.toString(16).padStart(64, '0'),
      options: MeasuringOptions.parse({}),
    })); // prettier-ignore
    for (const job of jobs) for (const queue of queues) await queue.add(job);
    expect(await queues[0]?.counts()).toEqual({ waiting: jobs.length, running: 0 });
    mkdirSync(join(dataDir, 'shoots'));
    // Without their files all of them fail, which is an outcome as any other.
    await worker(dataDir);
    await until(() => told.length >= jobs.length);
    await until(
      async () => (await leftOver()).filter((key) => key.includes(jobIdOf(jobs[0] as MeasureJob))).length === 0,
    );
    expect(told.map(({ job }) => job.frameName).sort()).toEqual(jobs.map(({ frameName }) => frameName).sort());
  });
});
