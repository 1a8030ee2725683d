import { Webhook as Verifier } from 'standardwebhooks';
import { describe, expect, it } from 'vitest';
import type { ShootStatus } from '../../src/contracts/api.js';
import { readConfig } from '../../src/config.js';
import { hookReceiver } from '../support/hook-receiver.js';
import { serviceForTest } from '../support/service.js';
import { until } from '../support/until.js';

const OPERATOR = 'the-token-of-the-house';
const NORTH = 'north-room-all-of-it-1';
const NORTH_LOOKS = 'north-room-only-looks';
const NORTH_SENDS = 'north-room-ingest-only';
const SOUTH = 'south-room-all-of-it-1';
const TOKENS = {
  API_TOKENS: OPERATOR,
  STUDIO_TOKENS: [
    `north:read+send+delete:${NORTH}`,
    `north:read:${NORTH_LOOKS}`,
    `north:send:${NORTH_SENDS}`,
    `south:read+send+delete:${SOUTH}`,
  ].join(', '),
};

/** Requests under one token. */
const under = (url: string, token: string) => {
  const ask = (method: string, path: string, init: RequestInit = {}) =>
    fetch(new URL(path, url), {
      method,
      ...init,
      headers: { authorization: `Bearer ${token}`, ...(init.headers as Record<string, string> | undefined) },
    });
  return {
    ask,
    status: async (method: string, path: string, init?: RequestInit) => (await ask(method, path, init)).status,
    make: (body: object = { name: 'Makers’ day' }) =>
      ask('POST', '/v1/shoots', { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
  };
};

/** Every address of a shoot and of a frame in it, with the methods that look, send and delete. */
const addressesOf = (shoot: string, frame: string): [method: string, path: string][] => [
  ['GET', shoot],
  ['GET', `${shoot}/report`],
  ['GET', `${shoot}/events`],
  ['GET', `${shoot}/webhooks`],
  ['GET', `${shoot}/frames/${frame}`],
  ['GET', `${shoot}/frames/${frame}/preview`],
  ['GET', `${shoot}/frames/${frame}/overlay`],
  ['GET', `${shoot}/frames/${frame}/sidecar`],
  ['GET', `${shoot}/frames/${frame}/before-after`],
  ['GET', `${shoot}/frames/${frame}/lift-mask?region=face`],
  ['PUT', `${shoot}/frames/${frame}`],
  ['POST', `${shoot}/complete`],
  ['DELETE', shoot],
];

describe('tokens of studios', () => {
  it('show a studio its own shoots, and of others not even that they are there', async () => {
    const { url } = await serviceForTest(TOKENS);
    const north = under(url, NORTH);
    const south = under(url, SOUTH);
    const created = await north.make();
    expect(created.status).toBe(201);
    const shoot = created.headers.get('location') ?? '';
    expect(await north.status('PUT', `${shoot}/frames/1.jpg`, { body: 'measure 1' })).toBe(201);

    const missing = `/v1/shoots/${'0'.repeat(32)}`;
    for (const [index, [method, path]] of addressesOf(shoot, '1.jpg').entries()) {
      const body = method === 'PUT' ? { body: 'measure 1' } : {};
      const refused = await south.ask(method, path, body);
      const [, nowhere] = addressesOf(missing, '1.jpg')[index] ?? [];
      const absent = await south.ask(method, nowhere ?? '', body);
      expect(refused.status, `${method} ${path}`).toBe(404);
      const told = (text: string) => text.replaceAll(/[0-9a-f]{32}/g, 'ID');
      expect(told(await refused.text()), `${method} ${path}`).toBe(told(await absent.text()));
    }
    for (const token of [NORTH, NORTH_LOOKS, OPERATOR]) expect(await under(url, token).status('GET', shoot)).toBe(200);
    expect(await north.status('DELETE', shoot)).toBe(204);
  });

  it('show the operator all, and no studio what the operator made', async () => {
    const { url } = await serviceForTest(TOKENS);
    const made = (await under(url, OPERATOR).make()).headers.get('location') ?? '';
    expect(await under(url, OPERATOR).status('GET', made)).toBe(200);
    for (const token of [NORTH, SOUTH]) expect(await under(url, token).status('GET', made)).toBe(404);
  });

  it('do only what their scopes say, and tell which one is wanted', async () => {
    const { url } = await serviceForTest(TOKENS);
    const looks = under(url, NORTH_LOOKS);
    const sends = under(url, NORTH_SENDS);
    expect((await looks.make()).status).toBe(403);
    const shoot = (await sends.make()).headers.get('location') ?? '';
    expect(await sends.status('PUT', `${shoot}/frames/1.jpg`, { body: 'measure 1' })).toBe(201);
    expect(await looks.status('PUT', `${shoot}/frames/2.jpg`, { body: 'measure 2' })).toBe(403);
    expect(await looks.status('GET', shoot)).toBe(200);
    expect(await sends.status('GET', shoot)).toBe(403);
    expect(await looks.status('HEAD', shoot)).toBe(200);
    expect(await sends.status('HEAD', shoot)).toBe(403);
    for (const who of [looks, sends]) {
      const refused = await who.ask('DELETE', shoot);
      expect(refused.status).toBe(403);
      const { code, detail } = (await refused.json()) as { code: string; detail: string };
      expect(code).toBe('forbidden');
      expect(detail).toContain('"delete"');
    }
    const status = (await (await looks.ask('GET', shoot)).json()) as ShootStatus;
    expect(status.progress.total).toBe(1);
  });

  it('do not read the figures of all studios', async () => {
    const { url } = await serviceForTest(TOKENS);
    const refused = await under(url, NORTH).ask('GET', '/metrics');
    expect(refused.status).toBe(403);
    expect(await refused.json()).toMatchObject({ detail: expect.stringContaining('nothing here') as string });
    expect(await under(url, OPERATOR).status('GET', '/metrics')).toBe(200);
    const alone = await serviceForTest({ STUDIO_TOKENS: TOKENS.STUDIO_TOKENS });
    expect((await fetch(`${alone.url}/metrics`)).status).toBe(401);
  });

  it('close the service to everyone else, also without a token of the operator', async () => {
    const { url, logged } = await serviceForTest({ STUDIO_TOKENS: TOKENS.STUDIO_TOKENS });
    const unsigned = await fetch(`${url}/v1/shoots`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: '{"name":"x"}' }); // prettier-ignore
    expect(unsigned.status).toBe(401);
    expect((await under(url, OPERATOR).make()).status).toBe(401);
    expect((await under(url, NORTH).make()).status).toBe(201);
    expect(logged.join('')).toContain('"studio":"north"');
    for (const token of [NORTH, NORTH_LOOKS, SOUTH]) expect(logged.join('')).not.toContain(token);
  });

  it('have their webhooks signed by their own secrets only', async () => {
    const secret = (byte: number) => Buffer.alloc(32, byte).toString('base64');
    const receiver = await hookReceiver();
    const { url } = await serviceForTest(
      {
        ...TOKENS,
        WEBHOOK_ALLOW: receiver.origin,
        WEBHOOK_PRIVATE: '127.0.0.0/8',
        WEBHOOK_SECRET: secret(1),
        STUDIO_WEBHOOK_SECRETS: `north:whsec_${secret(2)}`,
      },
      { webhooks: { waitsMs: [1, 1], timeLimitMs: 5000, sweepMs: 50 } },
    );
    for (const token of [NORTH, SOUTH]) {
      const shoot = (await under(url, token).make({ name: token.slice(0, 5), webhook: { url: receiver.origin } })).headers.get('location') ?? ''; // prettier-ignore
      expect(await under(url, token).status('POST', `${shoot}/complete`)).toBe(200);
    }
    await until(() => Promise.resolve(receiver.received.length === 2));
    const verifies = (name: string, byte: number) => {
      const { body, headers } = receiver.received.find(({ body: text }) => text.includes(`"name":"${name}"`)) ?? { body: '', headers: {} }; // prettier-ignore
      try {
        new Verifier(secret(byte)).verify(body, headers as Record<string, string>);
        return true;
      } catch {
        return false;
      }
    };
    expect({ north: [verifies('north', 1), verifies('north', 2)], south: [verifies('south', 1), verifies('south', 2)] }).toEqual({ north: [false, true], south: [true, false] }); // prettier-ignore
  });

  it('share no allowance of requests', async () => {
    const { url } = await serviceForTest({ ...TOKENS, MAX_REQUESTS_PER_MINUTE: '5' });
    const statuses: number[] = [];
    for (let n = 0; n < 7; n += 1) statuses.push((await under(url, n % 2 === 0 ? NORTH : NORTH_SENDS).make()).status);
    expect(statuses).toEqual([201, 201, 201, 201, 201, 429, 429]);
    const refused = await under(url, NORTH).make();
    expect(Number(refused.headers.get('retry-after'))).toBeGreaterThan(0);
    expect(((await refused.json()) as { code: string }).code).toBe('too-many-requests');
    expect((await under(url, SOUTH).make()).status).toBe(201);
    expect((await fetch(`${url}/healthz`)).status).toBe(200);
  });

  it('are refused where they are not written as they have to be, without being repeated', () => {
    const token = 'a-token-that-must-not-be-told';
    for (const wrong of [
      token,
      `north:${token}`,
      `north:look:${token}`,
      `North Room:read:${token}`,
      `north:read:short`,
      `north::${token}`,
    ]) {
      // prettier-ignore
      expect(() => readConfig({ STUDIO_TOKENS: wrong }), wrong).toThrow('STUDIO_TOKENS');
      expect(() => readConfig({ STUDIO_TOKENS: wrong }), wrong).not.toThrow(token);
    }
    expect(() => readConfig({ METRICS_TOKEN: token, STUDIO_TOKENS: `north:read:${token}` })).toThrow('stands in both');
    expect(() => readConfig({ API_TOKENS: token, STUDIO_TOKENS: `north:read:${token}` })).toThrow('stands there twice');
    expect(readConfig({ HOST: '0.0.0.0', STUDIO_TOKENS: `north:read+send:${token}` }).studioTokens).toEqual([
      { studio: 'north', scopes: ['read', 'send'], token },
    ]);
    expect(readConfig({ STUDIO_TOKENS: `north:read:with:colons:in:it:${token}` }).studioTokens[0]?.token).toBe(`with:colons:in:it:${token}`); // prettier-ignore
  });
});
