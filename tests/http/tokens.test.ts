import { describe, expect, it } from 'vitest';
import { readConfig } from '../../src/config.js';
import { newShoot, serviceForTest } from '../support/service.js';

const TOKEN = 'correct-horse-battery-staple';
const OTHER = 'another-token-of-the-studio';

const create = (url: string, authorization?: string) =>
  fetch(`${url}/v1/shoots`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...(authorization === undefined ? {} : { authorization }) },
    body: '{"name":"x"}',
  });

describe('bearer tokens', () => {
  it('are not asked for when none are set', async () => {
    const { url } = await serviceForTest();
    await expect(newShoot(url)).resolves.toContain('/v1/shoots/');
  });

  it('let in who has one of them and nobody else', async () => {
    const { url, logged } = await serviceForTest({ API_TOKENS: `${TOKEN}, ${OTHER}` });
    expect((await create(url, `Bearer ${TOKEN}`)).status).toBe(201);
    expect((await create(url, `bearer ${OTHER}`)).status).toBe(201);
    for (const wrong of [
      undefined,
      '',
      'Bearer',
      `Basic ${TOKEN}`,
      `Bearer ${TOKEN}x`,
      'Bearer x',
      `Bearer ${TOKEN.slice(0, -1)}`,
    ]) {
      const response = await create(url, wrong);
      expect(response.status).toBe(401);
      expect(response.headers.get('www-authenticate')).toMatch(/^Bearer/);
    }
    for (const path of ['/v1/shoots/x/report', '/V1/shoots', '//v1/shoots', '/v1/shoots/', '/nothing']) {
      expect((await fetch(url + path)).status, path).toBe(401);
    }
    expect((await fetch(`${url}/healthz`)).status).toBe(200);
    expect((await fetch(`${url}/readyz`)).status).toBe(200);
    expect(logged.join('')).not.toContain(TOKEN);
  });

  it('are not to be guessed: after many wrong ones an address is told to wait, and the right one still gets in', async () => {
    const { url } = await serviceForTest({ API_TOKENS: TOKEN });
    const statuses: number[] = [];
    for (let guess = 0; guess < 25; guess += 1)
      statuses.push((await create(url, `Bearer guess-number-${guess}`)).status);
    expect(statuses[0]).toBe(401);
    expect(statuses.at(-1)).toBe(429);
    const limited = await create(url, 'Bearer one-more-guess-of-many');
    expect(limited.status).toBe(429);
    expect(Number(limited.headers.get('retry-after'))).toBeGreaterThan(0);
    expect((await create(url, `Bearer ${TOKEN}`)).status).toBe(201);
  });

  it('are needed to listen beyond this machine, unless told plainly', () => {
    for (const HOST of ['0.0.0.0', '::', '192.168.1.4', 'studio.example']) {
      expect(() => readConfig({ HOST })).toThrow('API_TOKENS');
      expect(readConfig({ HOST, API_TOKENS: TOKEN }).host).toBe(HOST);
      expect(readConfig({ HOST, ALLOW_OPEN_NETWORK: 'true' }).host).toBe(HOST);
    }
    for (const HOST of ['127.0.0.1', '127.8.9.1', 'localhost', '::1']) expect(readConfig({ HOST }).host).toBe(HOST);
  });
});
