import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Redis } from 'ioredis';
import pg from 'pg';
import { describe, expect, it, onTestFinished } from 'vitest';
import { FrameEvent, ShootStatus } from '../../src/contracts/api.js';
import { ShootReport } from '../../src/contracts/report.js';
import { WORKER_ENTRY, startLogged } from '../support/processes.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, postgresForFile, startPostgres } from '../support/postgres-server.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile, startRedis } from '../support/redis-server.js';
import { eventsOf } from '../support/server-sent-events.js';
import { newShoot, put, rawRequest, serviceForTest, type ServiceUnderTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

const INSTALLED = POSTGRES_INSTALLED && REDIS_INSTALLED;

describe.skipIf(!INSTALLED)(`several API processes over one database${POSTGRES_NOTE}${REDIS_NOTE}`, () => {
  const postgres = postgresForFile();
  const redis = redisForFile();

  /** Two services that share database, Redis and frame files; only the first measures, unless told otherwise. */
  async function twoServices(
    first: Record<string, string> = {},
  ): Promise<{ one: ServiceUnderTest; other: ServiceUnderTest; folder: string; prefix: string }> {
    const folder = temporaryFolder();
    const shared = {
      DATABASE_URL: await postgres().newDatabase(),
      REDIS_URL: redis().url,
      REDIS_PREFIX: newPrefix(),
      DATA_DIR: folder,
    };
    const one = await serviceForTest({ ...shared, ...first });
    const other = await serviceForTest({ ...shared, WORKERS: '0' });
    return { one, other, folder, prefix: shared.REDIS_PREFIX };
  }
  const at = (service: ServiceUnderTest, shoot: string): string => service.url + new URL(shoot).pathname;

  it('show the same shoots, and the same report under the same entity tag', async () => {
    const { one, other } = await twoServices();
    const shoot = await newShoot(one.url);
    expect((await put(shoot, '1.jpg', 'measure 1')).status).toBe(201);
    expect((await put(at(other, shoot), '1.jpg', 'measure 1')).status).toBe(200);
    expect((await put(at(other, shoot), '1.jpg', 'measure other')).status).toBe(409);
    expect((await put(at(other, shoot), '2.jpg', 'refuse frame-corrupt')).status).toBe(201);
    await fetch(`${at(other, shoot)}/complete`, { method: 'POST' });
    expect((await put(shoot, '3.jpg', 'measure 3')).status).toBe(409);
    const [first, second] = await Promise.all(
      [shoot, at(other, shoot)].map((address) => fetch(`${address}/report?wait=60`)),
    );
    const tag = first?.headers.get('etag') ?? '';
    expect(second?.headers.get('etag')).toBe(tag);
    expect(await second?.json()).toEqual(await first?.json());
    const again = await fetch(`${at(other, shoot)}/report`, { headers: { 'if-none-match': tag } });
    expect(again.status).toBe(304);
    expect((await fetch(at(other, shoot), { method: 'DELETE' })).status).toBe(204);
    expect((await fetch(shoot)).status).toBe(404);
  });

  it('tell every change of a shoot from any of them', async () => {
    const { one, other, folder } = await twoServices();
    const shoot = await newShoot(one.url);
    const gate = join(folder, 'gate');
    const seen: string[] = [];
    for await (const { event, data } of eventsOf(await fetch(`${at(other, shoot)}/events`))) {
      if (event === 'frame') {
        const { name, state, failure } = FrameEvent.parse(data);
        seen.push(`${name} ${state}${failure === undefined ? '' : ` ${failure.code}`}`);
      } else {
        seen.push(`${event} ${ShootStatus.parse(data).state}`);
        if (seen.length === 1) {
          await put(shoot, 'good.jpg', `wait-for ${gate}`);
          await put(shoot, 'bad.jpg', 'refuse frame-corrupt');
          await fetch(`${shoot}/complete`, { method: 'POST' });
          writeFileSync(gate, '');
        }
      }
    }
    expect(seen[0]).toBe('progress open');
    expect(seen.at(-1)).toBe('ready ready');
    const of = (name: string) => seen.filter((line) => line.startsWith(name));
    expect(of('good.jpg')).toEqual(['good.jpg received', 'good.jpg measuring', 'good.jpg measured']);
    expect(of('bad.jpg')).toEqual(['bad.jpg received', 'bad.jpg measuring', 'bad.jpg failed frame-corrupt']);
  });

  it('add again what Redis lost, though the process that acknowledged it is gone for good', async () => {
    const { one, other, folder, prefix } = await twoServices({ WORKERS: '0' });
    const shoot = await newShoot(one.url);
    const names = ['1.jpg', '2.jpg', '3.jpg'];
    for (const name of names) expect((await put(shoot, name, `measure ${name}`)).status).toBe(201);
    await one.close();
    const client = new Redis(redis().url);
    onTestFinished(() => {
      client.disconnect();
    });
    for (const key of await client.keys(`${prefix}:*`)) await client.del(key);
    await startLogged(WORKER_ENTRY, 'taking frames', { REDIS_URL: redis().url, REDIS_PREFIX: prefix, DATA_DIR: folder, WORKERS: '1', SHUTDOWN_SECONDS: '0' }); // prettier-ignore
    const address = at(other, shoot);
    await fetch(`${address}/complete`, { method: 'POST' });
    const report = ShootReport.parse(await (await fetch(`${address}/report?wait=60`)).json());
    expect(report.frames.map(({ name }) => name)).toEqual(names);
    expect(report.summary.unreadable).toBe(0);
  });

  it('end in time though Redis and the database are away', async () => {
    const [ownRedis, ownDatabase] = await Promise.all([startRedis(), startPostgres()]);
    onTestFinished(async () => {
      await ownRedis.remove();
      await ownDatabase.remove();
    });
    const folder = temporaryFolder();
    const service = await serviceForTest({ DATABASE_URL: await ownDatabase.newDatabase(), REDIS_URL: ownRedis.url, DATA_DIR: folder }); // prettier-ignore
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', `wait-for ${join(folder, 'never')}`);
    for await (const { data } of eventsOf(await fetch(`${shoot}/events`))) {
      if (ShootStatus.safeParse(data).data?.progress.measuring === 1) break;
      if (FrameEvent.safeParse(data).data?.state === 'measuring') break;
    }
    await Promise.all([ownRedis.stop(), ownDatabase.stop()]);
    await service.close();
  });

  it('count no reader of events that went while the database was being asked', async () => {
    const database = await postgres().newDatabase();
    const service = await serviceForTest({ DATABASE_URL: database, REDIS_URL: redis().url, REDIS_PREFIX: newPrefix(), WORKERS: '0', MAX_EVENT_STREAMS: '1' }); // prettier-ignore
    const shoot = await newShoot(service.url);
    const holding = new pg.Client(database);
    await holding.connect();
    await holding.query('begin; lock table shoots in access exclusive mode');
    const answer = rawRequest(service.url, [`GET ${new URL(shoot).pathname}/events HTTP/1.1\r\nHost: localhost\r\n\r\n`], 'end'); // prettier-ignore
    await until(() => service.logged.some((line) => line.includes('"ended":false')));
    expect(await answer).toBe('');
    await holding.query('rollback');
    await holding.end();
    const events = await fetch(`${shoot}/events`);
    expect(events.status).toBe(200);
    await events.body?.cancel();
  });

  it('say that a shoot is gone, whoever deleted it', async () => {
    const { one, other } = await twoServices();
    const shoot = await newShoot(one.url);
    const events: string[] = [];
    for await (const { event } of eventsOf(await fetch(`${at(other, shoot)}/events`))) {
      events.push(event);
      if (event === 'progress') await fetch(shoot, { method: 'DELETE' });
    }
    expect(events).toEqual(['progress', 'gone']);
  });

  it('refuse for as long as the database is away, lose nothing that they acknowledged, and go on by themselves', async () => {
    const own = await startPostgres();
    onTestFinished(() => own.remove());
    const service = await serviceForTest({
      DATABASE_URL: await own.newDatabase(),
      REDIS_URL: redis().url,
      REDIS_PREFIX: newPrefix(),
      DATA_DIR: temporaryFolder(),
    });
    const shoot = await newShoot(service.url);
    const names = Array.from({ length: 30 }, (_, index) => `${index}.jpg`);
    const acknowledged: string[] = [];
    const sending = names.map(async (name) => {
      const { status } = await put(shoot, name, `measure ${name}`);
      if (status === 201) acknowledged.push(name);
      else expect(status).toBe(503);
    });
    await sending[0];
    await own.stop();
    await Promise.all(sending);
    expect(acknowledged.length).toBeGreaterThan(0);

    const refused = await put(shoot, 'late.jpg', 'measure late');
    expect(refused.status).toBe(503);
    expect(refused.headers.get('retry-after')).toBe('5');
    expect(await refused.json()).toMatchObject({ code: 'storage-unavailable', retryable: true });
    const ready = await fetch(`${service.url}/readyz`);
    expect(ready.status).toBe(503);
    expect(await ready.json()).toMatchObject({ missing: ['database'], parts: { 'frame-files': 'ok', redis: 'ok' } });

    await own.restart();
    for (const name of [...names, 'late.jpg']) expect([200, 201]).toContain((await put(shoot, name, `measure ${name.replace('late.jpg', 'late')}`)).status); // prettier-ignore
    await fetch(`${shoot}/complete`, { method: 'POST' });
    const report = ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
    expect(report.frames.map(({ name }) => name).sort()).toEqual([...names, 'late.jpg'].sort());
    expect(report.summary.unreadable).toBe(0);
  });
});
