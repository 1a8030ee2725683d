import { readdirSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { describe, expect, it, onTestFinished } from 'vitest';
import type { ShootStatus } from '../../src/contracts/api.js';
import { newShoot, put, rawRequest, serviceForTest } from '../support/service.js';
import { until } from '../support/until.js';

const pathOf = (shoot: string): string => new URL(shoot).pathname;
const statusOf = async (shoot: string): Promise<ShootStatus> => (await (await fetch(shoot)).json()) as ShootStatus;
/** Status lines of all answers that came over one connection. */
const answersIn = (text: string): number[] => [...text.matchAll(/^HTTP\/1\.1 (\d{3})/gm)].map(([, status]) => Number(status)); // prettier-ignore

/** Opened and left alone. */
function socketTo(url: string): Socket {
  const { hostname, port } = new URL(url);
  const socket = connect(Number(port), hostname);
  socket.on('error', () => undefined);
  onTestFinished(() => void socket.destroy());
  return socket;
}

describe('a client that is slow on purpose', () => {
  it('is cut off with its headers or its body half sent, and nobody else waits for it', async () => {
    const service = await serviceForTest({ REQUEST_TIMEOUT_SECONDS: '1' });
    const shoot = await newShoot(service.url);
    const half = [
      'PUT ',
      `PUT ${pathOf(shoot)}/frames/a.jpg HTTP/1.1\r\nHost: x\r\nX-Slow: `,
      `PUT ${pathOf(shoot)}/frames/b.jpg HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nmeas`,
      `POST ${pathOf(shoot)}/frames HTTP/1.1\r\nHost: x\r\nContent-Type: multipart/form-data; boundary=b\r\nContent-Length: 1000\r\n\r\n--b\r\n`,
    ].map((text) => {
      const socket = socketTo(service.url);
      socket.write(text);
      return new Promise<void>((resolve) => {
        socket.on('close', () => {
          resolve();
        });
        socket.resume();
      });
    });
    expect((await put(shoot, 'c.jpg', 'measure c')).status).toBe(201);
    await Promise.all(half);
    expect((await statusOf(shoot)).progress.total).toBe(1);
    await until(() => Promise.resolve(readdirSync(`${service.dataDir}/incoming`).length === 0));
  }, 60_000);
});

/** Each takes two descriptors, since both ends are in this process. */
const READERS = 2000;

describe('many at once', () => {
  it('two hundred uploads, half of them of one frame, are each taken once', async () => {
    const { url } = await serviceForTest();
    const shoot = await newShoot(url);
    const answers = await Promise.all(
      Array.from({ length: 200 }, (_, i) => put(shoot, i % 2 === 0 ? 'same.jpg' : `${i}.jpg`, i % 2 === 0 ? 'measure same' : `measure ${i}`)), // prettier-ignore
    );
    const statuses = answers.map(({ status }) => status);
    expect(statuses.filter((status) => status === 201)).toHaveLength(101);
    expect(statuses.filter((status) => status === 200)).toHaveLength(99);
    expect((await statusOf(shoot)).progress.total).toBe(101);
  });

  it('thousands of readers of events leave the service as quick to refuse and to answer as before', async () => {
    const { url } = await serviceForTest({ MAX_EVENT_STREAMS: String(READERS) });
    const shoot = await newShoot(url);
    const greeted = (): Promise<string> => {
      const socket = socketTo(url);
      socket.write(`GET ${pathOf(shoot)}/events HTTP/1.1\r\nHost: x\r\n\r\n`);
      return new Promise((resolve) => {
        socket.once('data', (data) => {
          resolve(data.toString());
        });
      });
    };
    // No more at a time than a listening socket keeps waiting.
    for (let opened = 0; opened < READERS; opened += 250) {
      const firsts = await Promise.all(Array.from({ length: 250 }, greeted));
      for (const first of firsts) expect(first).toMatch(/^HTTP\/1\.1 200 /);
    }
    expect((await fetch(`${shoot}/events`)).status).toBe(429);
    expect((await put(shoot, '1.jpg', 'measure 1')).status).toBe(201);
    expect((await statusOf(shoot)).progress.total).toBe(1);
  }, 60_000);
});

describe('two requests dressed as one', () => {
  // RFC 9112, sections 6.1 to 6.3 and 11.2: what two parties could read in two ways is refused, or ends the connection.
  const hidden = (shoot: string): string => `DELETE ${pathOf(shoot)} HTTP/1.1\r\nHost: x\r\n\r\n`;
  const shapes: [what: string, head: string, body: (inside: string) => string][] = [
    ['a length and chunks', 'Content-Length: 4\r\nTransfer-Encoding: chunked', (x) => `0\r\n\r\n${x}`],
    ['two lengths', 'Content-Length: 0\r\nContent-Length: 200', (x) => x],
    ['a list of lengths', 'Content-Length: 0, 200', (x) => x],
    ['a length with a sign', 'Content-Length: +0', (x) => x],
    ['a length in hexadecimal', 'Content-Length: 0x0', (x) => x],
    ['an unknown coding', 'Transfer-Encoding: xchunked', (x) => `0\r\n\r\n${x}`],
    ['a coding after chunks', 'Transfer-Encoding: chunked, identity', (x) => `0\r\n\r\n${x}`],
    ['a space before the colon', 'Transfer-Encoding : chunked', (x) => `0\r\n\r\n${x}`],
    ['a folded header', 'X: y\r\n Transfer-Encoding: chunked', (x) => `0\r\n\r\n${x}`],
    ['a bare line feed', 'X: y\nContent-Length: 0', (x) => x],
    ['a chunk size that overflows', 'Transfer-Encoding: chunked', (x) => `ffffffffffffffffff\r\n${x}`],
    ['a chunk size with a sign', 'Transfer-Encoding: chunked', (x) => `-1\r\n${x}`],
    ['a null byte in a header', 'X: \0', (x) => x],
  ];
  it.each(shapes)('are refused: %s', async (_what, head, body) => {
    const { url } = await serviceForTest();
    const shoot = await newShoot(url);
    const request = `PUT ${pathOf(shoot)}/frames/a.jpg HTTP/1.1\r\nHost: x\r\n${head}\r\n\r\n${body(hidden(shoot))}`;
    const statuses = answersIn(await rawRequest(url, [request], 'end').catch(() => ''));
    // Of a connection that is refused, nothing behind the refusal is read.
    expect(statuses.filter((status) => status < 400)).toEqual([]);
    expect((await statusOf(shoot)).progress.total).toBe(0);
  });
});

describe('addresses and heads that are too much', () => {
  it('are refused: an address of a megabyte, thousands of headers, one without a host', async () => {
    const { url } = await serviceForTest();
    const asked = async (text: string): Promise<number[]> => answersIn(await rawRequest(url, [text], 'end').catch(() => '')); // prettier-ignore
    const long = await asked(`GET /${'a'.repeat(1_000_000)} HTTP/1.1\r\nHost: x\r\n\r\n`);
    expect(long.filter((status) => status < 400)).toEqual([]);
    const many = await asked(`GET /healthz HTTP/1.1\r\nHost: x\r\n${'A: b\r\n'.repeat(50_000)}\r\n`);
    expect(many.filter((status) => status < 400)).toEqual([]);
    expect(await asked('GET /healthz HTTP/1.1\r\n\r\n')).toEqual([400]);
    expect((await fetch(`${url}/healthz`)).status).toBe(200);
  });

  it('name no other machine, no file outside and no other frame', async () => {
    const { url, dataDir } = await serviceForTest();
    const shoot = await newShoot(url);
    const before = readdirSync(dataDir).sort();
    const targets = [
      `http://other.example${pathOf(shoot)}/frames/../../../../etc/passwd`,
      `${pathOf(shoot)}/frames/..%2f..%2f..%2fetc%2fpasswd`,
      `${pathOf(shoot)}/frames/%2e%2e`,
      `${pathOf(shoot)}/frames/%00`,
      `${pathOf(shoot)}/frames/a%00.jpg`,
      `${pathOf(shoot)}/frames/%c0%af`,
      `${pathOf(shoot)}/frames/%ff`,
      `${pathOf(shoot)}/frames/a%5c..%5cb.jpg`,
      `${pathOf(shoot)}/frames/${'x'.repeat(4096)}`,
      `/v1/shoots/..%2f..%2f/frames/a.jpg`,
      '*',
    ];
    for (const target of targets) {
      const answer = await rawRequest(url, [`PUT ${target} HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\nConnection: close\r\n\r\nmeasure 1`], 'wait'); // prettier-ignore
      expect(answersIn(answer)[0], target).toBeGreaterThanOrEqual(400);
      expect(answersIn(answer)[0], target).toBeLessThan(500);
    }
    expect(readdirSync(dataDir).sort()).toEqual(before);
    expect((await statusOf(shoot)).progress.total).toBe(0);
  });

  it('of multipart parts are refused: a megabyte of them, a name of a megabyte, ten thousand empty parts', async () => {
    const { url } = await serviceForTest();
    const shoot = await newShoot(url);
    const post = (body: string) =>
      fetch(`${shoot}/frames`, {
        method: 'POST',
        headers: { 'content-type': 'multipart/form-data; boundary=b' },
        body: `${body}--b--\r\n`,
      });
    const part = (head: string, body: string) => `--b\r\n${head}\r\n\r\n${body}\r\n`;
    const named = (name: string) => `Content-Disposition: form-data; name="f"; filename="${name}"`;
    const answers = await Promise.all([
      post(part(`${named('a.jpg')}\r\n${'X-Y: z\r\n'.repeat(130_000)}Z: z`, 'measure a')),
      post(part(named('n'.repeat(1_000_000)), 'measure b')),
      post(part('Content-Disposition: form-data; name="x"', 'field').repeat(10_001)),
    ]);
    for (const { status } of answers) {
      expect(status).toBeGreaterThanOrEqual(400);
      expect(status).toBeLessThan(500);
    }
    expect((await statusOf(shoot)).progress.total).toBe(0);
    expect((await put(shoot, 'good.jpg', 'measure good')).status).toBe(201);
  });
});
