import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { Problem, ShootStatus } from '../../src/contracts/api.js';
import { VERSION } from '../../src/version.js';
import { newShoot, put, serviceForFile, type ServiceUnderTest } from '../support/service.js';

const running = serviceForFile();
let service: ServiceUnderTest;
beforeEach(() => {
  service = running();
});

const post = (path: string, body: string, headers: Record<string, string> = { 'content-type': 'application/json' }) =>
  fetch(service.url + path, { method: 'POST', body, headers });

async function expectProblem(response: Response, status: number, code: string): Promise<Problem> {
  expect(response.status).toBe(status);
  expect(response.headers.get('content-type')).toMatch(/^application\/problem\+json/);
  const problem = Problem.parse(await response.json());
  expect(problem).toMatchObject({ status, code });
  return problem;
}

describe('shoots', () => {
  it('are created with an address that cannot be guessed', async () => {
    const response = await post('/v1/shoots', JSON.stringify({ name: 'Makers’ day', plan: { light: 'flash' } }));
    expect(response.status).toBe(201);
    const status = ShootStatus.parse(await response.json());
    expect(status).toMatchObject({ name: 'Makers’ day', state: 'open', plan: { light: 'flash' } });
    expect(status.id).toMatch(/^[0-9a-f]{32}$/);
    expect(response.headers.get('location')).toBe(`/v1/shoots/${status.id}`);
    const seen = await fetch(`${service.url}/v1/shoots/${status.id}`);
    expect(ShootStatus.parse(await seen.json())).toEqual(status);
  });

  it('say what is wrong with a body', async () => {
    await expectProblem(await post('/v1/shoots', '{"name":'), 400, 'bad-request');
    await expectProblem(await post('/v1/shoots', '[]'), 400, 'bad-request');
    const unknown = await expectProblem(await post('/v1/shoots', '{"name":"x","colour":1}'), 400, 'bad-request');
    expect(unknown.detail).toContain('colour');
    const plan = { toleranceStops: -1 };
    const bad = await expectProblem(await post('/v1/shoots', JSON.stringify({ name: 'x', plan })), 400, 'bad-plan');
    expect(bad.detail).toContain('plan.toleranceStops');
    await expectProblem(
      await post('/v1/shoots', '{}', { 'content-type': 'text/plain' }),
      415,
      'unsupported-media-type',
    );
    const large = JSON.stringify({ name: 'x'.repeat(300_000) });
    await expectProblem(await post('/v1/shoots', large), 413, 'body-too-large');
  });

  it('are not found under any other address', async () => {
    for (const path of [
      '/v1/shoots/nothing',
      '/v1/shoots/nothing/report',
      '/v1/shoots/nothing/events',
      `/v1/shoots/${'0'.repeat(32)}`,
    ]) {
      await expectProblem(await fetch(service.url + path), 404, 'shoot-not-found');
    }
    for (const path of ['/', '/v1', '/v1/shoot', '/V1/shoots', '/v1/shoots/a/b/c/d/e']) {
      await expectProblem(await fetch(service.url + path), 404, 'not-found');
    }
  });

  it('take the methods that they take and name them', async () => {
    const shoot = await newShoot(service.url);
    const wrong = await fetch(shoot, { method: 'PUT', body: 'x' });
    await expectProblem(wrong, 405, 'method-not-allowed');
    expect(wrong.headers.get('allow')).toBe('GET, HEAD, DELETE, OPTIONS');
    await expectProblem(await fetch(`${service.url}/v1/shoots`), 405, 'method-not-allowed');
    await expectProblem(await fetch(`${shoot}/complete`), 405, 'method-not-allowed');
    const { type } = await expectProblem(await fetch(`${service.url}/nothing`), 404, 'not-found');
    expect(await (await fetch(service.url + type)).json()).toMatchObject({ code: 'not-found', status: 404 });
    await expectProblem(await fetch(`${service.url}/problems/nothing`), 404, 'not-found');
    const options = await fetch(`${shoot}/report`, { method: 'OPTIONS' });
    expect([options.status, options.headers.get('allow')]).toEqual([204, 'GET, HEAD, OPTIONS']);
    expect((await fetch(shoot, { method: 'HEAD' })).status).toBe(200);
  });

  it('can be completed twice', async () => {
    const shoot = await newShoot(service.url);
    for (let time = 0; time < 2; time += 1) {
      const response = await fetch(`${shoot}/complete`, { method: 'POST' });
      expect([response.status, ShootStatus.parse(await response.json()).state]).toEqual([200, 'ready']);
    }
    await expectProblem(await put(shoot, 'late.jpg', 'measure'), 409, 'shoot-complete');
  });

  it('leave nothing when they are deleted', async () => {
    const shoot = await newShoot(service.url);
    await put(shoot, 'x.jpg', 'measure');
    await fetch(`${shoot}/report?wait=60`);
    expect((await fetch(shoot, { method: 'DELETE' })).status).toBe(204);
    await expectProblem(await fetch(shoot), 404, 'shoot-not-found');
    await expectProblem(await fetch(shoot, { method: 'DELETE' }), 404, 'shoot-not-found');
    expect(readdirSync(join(service.dataDir, 'shoots'))).not.toContain(shoot.split('/').pop());
    expect(readdirSync(join(service.dataDir, 'incoming'))).toEqual([]);
  });

  it('can be deleted while a frame is measured, and the next shoot is served', async () => {
    const gate = join(service.dataDir, 'gate');
    const doomed = await newShoot(service.url);
    await put(doomed, 'x.jpg', `wait-for ${gate}`);
    const measuring = await fetch(`${doomed}/events`);
    for await (const chunk of measuring.body ?? []) {
      if (Buffer.from(chunk as Uint8Array).includes('"measuring":1')) break;
    }
    expect((await fetch(doomed, { method: 'DELETE' })).status).toBe(204);
    writeFileSync(gate, '');
    const next = await newShoot(service.url);
    await put(next, 'y.jpg', 'measure');
    expect((await fetch(`${next}/report?wait=60`)).status).toBe(200);
    expect(readdirSync(join(service.dataDir, 'shoots'))).not.toContain(doomed.split('/').pop());
  });
});

describe('the service', () => {
  it('says that it lives and is ready', async () => {
    expect(await (await fetch(`${service.url}/healthz`)).json()).toEqual({ alive: true });
    const ready = await fetch(`${service.url}/readyz`);
    expect([ready.status, await ready.json()]).toMatchObject([
      200,
      { ready: true, missing: [], parts: { database: 'ok', queue: 'ok', 'frame-files': 'ok', 'disk-space': 'ok' } },
    ]);
  });

  it('sends protective headers with every answer, refusals too, and does not name its parts', async () => {
    const shoot = await newShoot(service.url);
    await put(shoot, '1.jpg', 'measure 1');
    const asked: [path: string, status: number, accept?: string][] = [
      [`${service.url}/healthz`, 200],
      [`${service.url}/openapi.json`, 200],
      [`${shoot}/report?wait=60`, 200],
      [`${shoot}/report`, 200, 'text/html'],
      [`${shoot}/report`, 406, 'image/gif'],
      [`${shoot}/frames/1.jpg/preview`, 200],
      [`${shoot}/frames/2.jpg/preview`, 404],
      [`${shoot}/frames/%ff`, 400],
      [`${service.url}/nothing`, 404],
    ];
    for (const [address, status, accept = '*/*'] of asked) {
      const { headers, status: answered } = await fetch(address, { headers: { accept } });
      expect(answered, address).toBe(status);
      expect(headers.get('x-content-type-options'), address).toBe('nosniff');
      expect(headers.get('content-security-policy'), address).toMatch(/default-src 'none'.*frame-ancestors 'none'/);
      expect(headers.get('referrer-policy'), address).toBe('no-referrer');
      expect(headers.get('cross-origin-resource-policy'), address).toBe('same-origin');
      expect(headers.has('x-powered-by'), address).toBe(false);
      expect(headers.has('server'), address).toBe(false);
    }
  });

  it('publishes an OpenAPI 3.1 document of its version', async () => {
    const document = (await (await fetch(`${service.url}/openapi.json`)).json()) as { info: object; openapi: string };
    expect(document).toMatchObject({ openapi: '3.1.0', info: { title: 'stopledger', version: VERSION } });
  });

  it('refuses what is not understood', async () => {
    await expectProblem(await fetch(`${service.url}/v1/shoots/%zz`), 400, 'bad-request');
    const shoot = await newShoot(service.url);
    const xml = { headers: { accept: 'application/xml' } };
    await expectProblem(await fetch(`${shoot}/report`, xml), 406, 'not-acceptable');
    await expectProblem(await fetch(`${shoot}/events`, xml), 406, 'not-acceptable');
    for (const wait of ['-1', 'x', '1e9', '']) {
      await expectProblem(await fetch(`${shoot}/report?wait=${wait}`), 400, 'bad-request');
    }
  });

  it('logs shoots and frames, never bytes', async () => {
    const shoot = await newShoot(service.url);
    await put(shoot, 'x.jpg', 'measure secret-picture-bytes');
    await fetch(`${shoot}/report?wait=60`);
    const log = service.logged.join('');
    expect(log).toContain(shoot.split('/').pop());
    expect(log).toContain('x.jpg');
    expect(log).not.toContain('secret-picture-bytes');
  });
});
