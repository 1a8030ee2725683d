import { createHash, createHmac } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import { checkFrameToken, signFrameToken } from '../../src/queue/frame-token.js';
import { newShoot, put, serviceForFile, serviceForTest } from '../support/service.js';

const secret = 'a secret of more than thirty-two characters';
const apiToken = 'a-token-for-these-tests';
const running = serviceForFile({ FRAME_API_SECRET: secret });
const inSeconds = (seconds: number): number => Date.now() / 1000 + seconds;

describe('the bytes of frames for workers', () => {
  const body = 'measure these bytes';
  const sha256 = createHash('sha256').update(body).digest('hex');
  let shootId = '';
  let url = '';
  beforeAll(async () => {
    const shoot = await newShoot(running().url);
    await put(shoot, 'x.jpg', body);
    shootId = shoot.split('/').at(-1) ?? '';
    url = `${running().url}/v1/internal/shoots/${shootId}/frames/${sha256}`;
  });
  const get = (address: string, token: string | null): Promise<Response> =>
    fetch(address, token === null ? {} : { headers: { authorization: `Bearer ${token}` } });
  const valid = (): string => signFrameToken(secret, { shootId, sha256 }, inSeconds(60));

  it('come whole with their digest, never to be kept on the way', async () => {
    const response = await get(url, valid());
    expect(response.status).toBe(200);
    expect(await response.text()).toBe(body);
    const { headers } = response;
    expect(headers.get('content-type')).toBe('application/octet-stream');
    expect(headers.get('content-length')).toBe(String(body.length));
    expect(headers.get('repr-digest')).toBe(`sha-256=:${createHash('sha256').update(body).digest('base64')}:`);
    expect(headers.get('cache-control')).toBe('no-store');
    expect((await fetch(url, { method: 'PUT', headers: { authorization: `Bearer ${valid()}` } })).status).toBe(405);
  });

  it('are refused without a token made for this very frame, or once its time is over', async () => {
    const other = 'e'.repeat(64);
    const forged = valid().replace(/^f1\.(\d+)/, (_, at: string) => `f1.${Number(at) + 1}`);
    const tokens: (string | null)[] = [
      null,
      '',
      'f1',
      forged,
      `${valid()}A`,
      signFrameToken(secret, { shootId, sha256: other }, inSeconds(60)),
      signFrameToken(secret, { shootId: 'other', sha256 }, inSeconds(60)),
      signFrameToken(`${secret}.`, { shootId, sha256 }, inSeconds(60)),
      signFrameToken(secret, { shootId, sha256 }, inSeconds(-5)),
      signFrameToken(secret, { shootId, sha256 }, inSeconds(86_400)),
      apiToken,
    ];
    for (const token of tokens) {
      const response = await get(url, token);
      expect(response.status, String(token)).toBe(401);
      expect(response.headers.get('www-authenticate')).toMatch(/^Bearer /);
      expect(await response.json()).toMatchObject({ code: 'unauthorized' });
    }
  });

  it('are told as missing when they are, also with a right token', async () => {
    const other = 'e'.repeat(64);
    const address = `${running().url}/v1/internal/shoots/${shootId}/frames/${other}`;
    const response = await get(address, signFrameToken(secret, { shootId, sha256: other }, inSeconds(60)));
    expect(response.status).toBe(422);
    expect(await response.json()).toMatchObject({ code: 'frame-file-missing' });
  });

  it('cannot be asked for by a path', async () => {
    for (const [shoot, digest] of [
      ['..', sha256],
      [shootId, '../x'],
      ['a/b', sha256],
    ] as const) {
      const address = `${running().url}/v1/internal/shoots/${encodeURIComponent(shoot)}/frames/${encodeURIComponent(digest)}`; // prettier-ignore
      const token = signFrameToken(secret, { shootId: shoot, sha256: digest }, inSeconds(60));
      expect([400, 401, 404]).toContain((await get(address, token)).status);
    }
  });

  it('are in no log and no document of the API', async () => {
    const token = valid();
    await get(url, token);
    expect(running().logged.join('')).not.toContain(token);
    expect(await (await fetch(`${running().url}/openapi.json`)).text()).not.toContain('internal/');
  });

  it('need no token of the API and give none of its rights; without a secret nothing is handed out', async () => {
    const closed = await serviceForTest({ API_TOKENS: apiToken, FRAME_API_SECRET: secret });
    const frame = { shootId: 'none', sha256 };
    const address = `${closed.url}/v1/internal/shoots/none/frames/${sha256}`;
    expect((await get(address, signFrameToken(secret, frame, inSeconds(60)))).status).toBe(422);
    expect((await get(`${closed.url}/v1/shoots/none`, signFrameToken(secret, frame, inSeconds(60)))).status).toBe(401);
    const without = await serviceForTest();
    expect((await get(`${without.url}/v1/internal/shoots/none/frames/${sha256}`, valid())).status).toBe(404);
  });

  it('have tokens as RFC 2104 makes them, checked against Node’s own HMAC', () => {
    const frame = { shootId: 's', sha256 };
    const token = signFrameToken(secret, frame, 1_800_000_000.9);
    const signed = createHmac('sha256', secret).update(`["frame","s","${sha256}",1800000000]`).digest('base64url');
    expect(token).toBe(`f1.1800000000.${signed}`);
    expect(() => {
      checkFrameToken(secret, frame, token, 1_800_000_000);
    }).not.toThrow();
    for (const [now, reason] of [
      [1_800_000_001, /ended 1 s ago.*clock/],
      [1_799_999_000, /ends in 1000 s/],
    ] as const) {
      expect(() => {
        checkFrameToken(secret, frame, token, now);
      }).toThrow(reason);
    }
  });
});
