import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import parse, { type Family } from 'parse-prometheus-text-format';
import { describe, expect, it, onTestFinished } from 'vitest';
import { Metrics } from '../../src/api/metrics.js';
import { fakeMeasurement } from '../support/measurement.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, startPostgres } from '../support/postgres-server.js';
import { WORKER_ENTRY, startLogged } from '../support/processes.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile, startRedis } from '../support/redis-server.js';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

/** The exposition as a parser that is not ours reads it. */
class Scrape {
  readonly families: Family[];
  /** The same with the series of histograms as they are written: the parser puts those of all labels together. */
  readonly #series: Family[];
  constructor(text: string) {
    this.families = parse(text);
    this.#series = parse(text.replaceAll(/^# TYPE \S+ histogram$/gm, ''));
  }
  family(name: string): Family {
    const [first, ...rest] = this.#series.filter((one) => one.name === name);
    if (first === undefined) throw new Error(`no metric ${name}`);
    return { ...first, metrics: [first, ...rest].flatMap(({ metrics }) => metrics) };
  }
  /** The sample with these labels; undefined where there is none. */
  value(name: string, labels: Record<string, string> = {}): number | undefined {
    const wanted = JSON.stringify(Object.entries(labels).sort());
    const found = this.family(name).metrics.find((one) => JSON.stringify(Object.entries(one.labels ?? {}).sort()) === wanted); // prettier-ignore
    return found?.value === undefined ? undefined : Number(found.value);
  }
}

async function scrape(url: string, headers: Record<string, string> = {}): Promise<Scrape> {
  const response = await fetch(`${url}/metrics`, { headers });
  expect(response.status).toBe(200);
  expect(response.headers.get('content-type')).toMatch(/^text\/plain; version=0\.0\.4/);
  return new Scrape(await response.text());
}

describe('/metrics', () => {
  it('counts frames by state, the queue, its age, outcomes, stages and requests of a real run', async () => {
    const service = await serviceForTest({ WORKERS: '2' });
    const gates = ['a', 'b'].map((name) => join(service.dataDir, `gate-${name}`));
    const shoot = await newShoot(service.url);
    for (const [index, gate] of gates.entries()) await put(shoot, `held-${index}.jpg`, `wait-for ${gate}`);
    for (const name of ['1.jpg', '2.jpg', '3.jpg']) await put(shoot, name, `measure ${name}`);
    await put(shoot, 'broken.jpg', 'refuse frame-corrupt');
    await until(async () => (await scrape(service.url)).value('stopledger_frames', { state: 'measuring' }) === 2);

    const busy = await scrape(service.url);
    const frames = (one: Scrape, state: string) => one.value('stopledger_frames', { state });
    expect(['received', 'measuring', 'measured', 'failed'].map((state) => frames(busy, state))).toEqual([4, 2, 0, 0]);
    expect(busy.value('stopledger_queue_frames', { state: 'waiting' })).toBe(4);
    expect(busy.value('stopledger_queue_frames', { state: 'running' })).toBe(2);
    expect(busy.value('stopledger_queue_oldest_waiting_seconds')).toBeGreaterThan(0);
    expect(busy.value('stopledger_workers')).toBe(2);

    for (const gate of gates) writeFileSync(gate, '');
    await fetch(`${shoot}/complete`, { method: 'POST' });
    expect((await fetch(`${shoot}/report?wait=60`)).status).toBe(200);
    const done = await scrape(service.url);
    expect(['received', 'measuring', 'measured', 'failed'].map((state) => frames(done, state))).toEqual([0, 0, 5, 1]);
    expect(done.value('stopledger_queue_oldest_waiting_seconds')).toBe(0);
    expect(done.value('stopledger_frame_outcomes_total', { outcome: 'measured' })).toBe(5);
    expect(done.value('stopledger_frame_outcomes_total', { outcome: 'failed' })).toBe(1);
    const requests = (route: string, method: string, status: string) =>
      done.value('stopledger_http_request_seconds_count', { route, method, status });
    expect(requests('/v1/shoots/:id/frames/:name', 'PUT', '201')).toBe(6);
    expect(requests('/v1/shoots/:id/report', 'GET', '200')).toBe(1);
    expect(done.value('process_cpu_seconds_total')).toBeGreaterThan(0);
  });

  it('spreads the stages of each measurement over buckets of seconds, and tells how long the oldest frame waits', async () => {
    const metrics = new Metrics({
      store: { overview: () => Promise.resolve({ frames: { received: 1, measuring: 0, measured: 2, failed: 0 }, oldestReceivedAt: '2026-05-09T10:00:00.000Z' }) }, // prettier-ignore
      queue: { counts: () => Promise.resolve({ waiting: 1, running: 0 }), workers: () => Promise.resolve(1) },
      now: () => Date.parse('2026-05-09T10:01:30.000Z'),
    });
    for (const decodeMs of [40, 400]) metrics.outcome({ ...fakeMeasurement(), timing: { decodeMs } });
    const told = new Scrape(await metrics.text());
    expect(told.value('stopledger_queue_oldest_waiting_seconds')).toBe(90);
    const decode = (series: string, more = {}) => told.value(`stopledger_frame_stage_seconds_${series}`, { stage: 'decode', ...more }); // prettier-ignore
    expect([decode('count'), decode('bucket', { le: '0.025' }), decode('bucket', { le: '0.05' }), decode('bucket', { le: '0.5' })]).toEqual([2, 0, 1, 2]); // prettier-ignore
    expect(decode('sum')).toBeCloseTo(0.44, 9);
  });

  it('follows the text format: every family has help and type, histograms are cumulative and end in +Inf', async () => {
    const service = await serviceForTest();
    await fetch(`${service.url}/healthz`);
    const scraped = await scrape(service.url);
    const { families } = scraped;
    expect(families.length).toBeGreaterThan(20);
    for (const { name, help, type, metrics } of families) {
      expect(name).toMatch(/^[a-zA-Z_:][a-zA-Z0-9_:]*$/);
      expect(help, name).not.toBe('');
      expect(type, name).not.toBe('UNTYPED');
      if (name.startsWith('stopledger_')) expect(metrics.map(({ value }) => value)).not.toContain('Nan');
    }
    const buckets = scraped.family('stopledger_http_request_seconds_bucket').metrics.filter(({ labels }) => labels?.route === '/healthz'); // prettier-ignore
    const steps = buckets.map(({ value }) => Number(value));
    expect([...steps].sort((a, b) => a - b)).toEqual(steps);
    expect(buckets.at(-1)?.labels?.le).toBe('+Inf');
    const labels = { route: '/healthz', method: 'GET', status: '200' };
    expect(steps.at(-1)).toBe(scraped.value('stopledger_http_request_seconds_count', labels));
    // Which may be summed over several processes is said by each of ours.
    for (const { name, help } of families.filter(({ name }) => name.startsWith('stopledger_'))) {
      expect(help, name).toMatch(/of this process|the same from every process|this process\./);
    }
  });

  it('makes no label of what a client sends', async () => {
    const service = await serviceForTest();
    const shoot = await newShoot(service.url);
    await put(shoot, 'a-name-of-a-sitter.jpg', 'measure');
    await fetch(`${service.url}/some/where/else`);
    await fetch(`${shoot}/events`, { method: 'PROPFIND' }).catch(() => undefined);
    const text = await (await fetch(`${service.url}/metrics`)).text();
    for (const sent of ['sitter', shoot.split('/').pop() ?? '', 'some/where', 'PROPFIND']) expect(text).not.toContain(sent); // prettier-ignore
  });

  it('takes the API’s tokens and one of its own, which opens nothing else', async () => {
    const own = 'only-for-the-monitoring';
    const { url } = await serviceForTest({ API_TOKENS: 'correct-horse-battery-staple', METRICS_TOKEN: own });
    const as = (token: string) => ({ headers: { authorization: `Bearer ${token}` } });
    expect((await fetch(`${url}/metrics`)).status).toBe(401);
    expect((await fetch(`${url}/metrics`, as('something-else-entirely'))).status).toBe(401);
    for (const token of [own, 'correct-horse-battery-staple']) expect((await fetch(`${url}/metrics`, as(token))).status).toBe(200); // prettier-ignore
    expect((await fetch(`${url}/v1/shoots/${'f'.repeat(32)}`, as(own))).status).toBe(401);
    const alone = await serviceForTest({ METRICS_TOKEN: own });
    expect((await fetch(`${alone.url}/metrics`)).status).toBe(401);
    expect((await fetch(`${alone.url}/metrics`, as(own))).status).toBe(200);
  });
});

describe.skipIf(!REDIS_INSTALLED)(`/metrics over Redis${REDIS_NOTE}`, () => {
  const redis = redisForFile();

  it('counts live workers, and tells nothing of a Redis that is away but that', async () => {
    const own = await startRedis();
    onTestFinished(() => own.remove());
    const environment = { REDIS_URL: own.url, REDIS_PREFIX: newPrefix(), WORKERS: '0' };
    const service = await serviceForTest(environment);
    const workers = async () => (await scrape(service.url)).value('stopledger_workers');
    expect(await workers()).toBe(0);
    const start = () => startLogged(WORKER_ENTRY, 'taking frames', { ...environment, DATA_DIR: service.dataDir, WORKERS: '1', SHUTDOWN_SECONDS: '0' }); // prettier-ignore
    const [first] = [await start(), await start()];
    await until(async () => (await workers()) === 2);
    await first.kill('SIGKILL');
    await until(async () => (await workers()) === 1);
    await own.stop();
    await until(async () => (await scrape(service.url)).value('stopledger_readable', { part: 'queue' }) === 0);
    const away = await scrape(service.url);
    expect(away.value('stopledger_readable', { part: 'store' })).toBe(1);
    expect(away.value('stopledger_frames', { state: 'received' })).toBe(0);
    for (const name of ['stopledger_workers', 'stopledger_queue_frames']) expect(away.family(name).metrics).toEqual([]);
  });

  it.skipIf(!POSTGRES_INSTALLED)(
    `over several services: what is shared is the same, what is summed counts each frame once${POSTGRES_NOTE}`,
    async () => {
      const postgres = await startPostgres();
      onTestFinished(() => postgres.remove());
      const shared = {
        DATABASE_URL: await postgres.newDatabase(),
        REDIS_URL: redis().url,
        REDIS_PREFIX: newPrefix(),
        DATA_DIR: temporaryFolder(),
      };
      const [one, other] = [await serviceForTest(shared), await serviceForTest({ ...shared, WORKERS: '0' })];
      const shoot = await newShoot(one.url);
      for (let index = 0; index < 12; index += 1) {
        await put(index % 2 ? shoot : other.url + new URL(shoot).pathname, `${index}.jpg`, `measure ${index}`);
      }
      await put(shoot, 'broken.jpg', 'refuse frame-corrupt');
      await fetch(`${shoot}/complete`, { method: 'POST' });
      expect((await fetch(`${shoot}/report?wait=60`)).status).toBe(200);
      const scrapes = [await scrape(one.url), await scrape(other.url)];
      for (const each of scrapes) {
        const states = ['received', 'measuring', 'measured', 'failed'];
        expect(states.map((state) => each.value('stopledger_frames', { state }))).toEqual([0, 0, 12, 1]);
        expect(each.value('stopledger_workers')).toBe(1);
      }
      const summed = (outcome: string) => scrapes.reduce((sum, each) => sum + (each.value('stopledger_frame_outcomes_total', { outcome }) ?? 0), 0); // prettier-ignore
      expect([summed('measured'), summed('failed')]).toEqual([12, 1]);
    },
  );
});
