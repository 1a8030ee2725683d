import { createHash } from 'node:crypto';
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { FrameReceipt, Problem, ShootStatus, UploadOutcome } from '../../src/contracts/api.js';
import {
  newShoot,
  put,
  rawRequest,
  serviceForFile,
  serviceForTest,
  type ServiceUnderTest,
} from '../support/service.js';
import { until } from '../support/until.js';

const LARGEST = 100_000;
/** One entry for each file that this process, and so the service in it, has open (Linux). */
const OPEN_FILES = '/proc/self/fd';

const running = serviceForFile({ MAX_FRAME_BYTES: String(LARGEST) });
let service: ServiceUnderTest;
let shoot: string;
beforeEach(async () => {
  service = running();
  shoot = await newShoot(service.url);
});
const ownService = async (): Promise<void> => {
  service = await serviceForTest({ MAX_FRAME_BYTES: String(LARGEST) });
  shoot = await newShoot(service.url);
};

const sha256Base64 = (text: string): string => createHash('sha256').update(text).digest('base64');
/** Half-received files; frames that are measured meanwhile have their pictures pass through the same folder. */
const incoming = (): string[] =>
  readdirSync(join(service.dataDir, 'incoming')).filter((name) => !name.startsWith('product-'));
const total = async (): Promise<number> => ShootStatus.parse(await (await fetch(shoot)).json()).progress.total;
const codeOf = async (response: Response): Promise<[number, string]> => [
  response.status,
  Problem.parse(await response.json()).code,
];
const path = (): string => new URL(shoot).pathname;
const head = (name: string, ...headers: string[]): string =>
  [`PUT ${path()}/frames/${name} HTTP/1.1`, 'Host: localhost', ...headers, '', ''].join('\r\n');

describe('a raw upload', () => {
  it('is 201 when taken and 200 when repeated', async () => {
    const first = await put(shoot, 'a b.jpg', 'measure');
    const receipt = FrameReceipt.parse(await first.json());
    expect(first.status).toBe(201);
    expect(receipt).toMatchObject({ name: 'a b.jpg', bytes: 7, created: true });
    expect(receipt.sha256).toBe(createHash('sha256').update('measure').digest('hex'));
    expect(receipt.href).toBe(`${path()}/frames/a%20b.jpg`);
    expect(first.headers.get('location')).toBe(receipt.href);
    const again = await put(shoot, 'a b.jpg', 'measure');
    expect([again.status, FrameReceipt.parse(await again.json()).created]).toEqual([200, false]);
    expect(await codeOf(await put(shoot, 'a b.jpg', 'other'))).toEqual([409, 'frame-name-taken']);
    expect(await total()).toBe(1);
    expect(incoming()).toEqual([]);
  });

  it('of one name by many at once is taken from exactly one', async () => {
    const responses = await Promise.all(
      Array.from({ length: 20 }, (_, index) => put(shoot, 'x.jpg', `measure ${index}`)),
    );
    const statuses = responses.map(({ status }) => status).sort();
    expect(statuses).toEqual([201, ...new Array<number>(19).fill(409)]);
    const same = await Promise.all(Array.from({ length: 20 }, () => put(shoot, 'y.jpg', 'measure')));
    expect(same.map(({ status }) => status).sort()).toEqual([...new Array<number>(19).fill(200), 201]);
    expect(await total()).toBe(2);
    expect(incoming()).toEqual([]);
  });

  it('is served in numbers', async () => {
    const responses = await Promise.all(
      Array.from({ length: 200 }, (_, index) => put(shoot, `${index}.jpg`, `measure ${index}`)),
    );
    expect(new Set(responses.map(({ status }) => status))).toEqual(new Set([201]));
    expect(await total()).toBe(200);
  });

  it('is refused when empty, too large, or one too many', async () => {
    expect(await codeOf(await put(shoot, 'empty.jpg', ''))).toEqual([422, 'frame-empty']);
    expect(await codeOf(await put(shoot, 'large.jpg', 'x'.repeat(LARGEST + 1)))).toEqual([413, 'frame-too-large']);
    expect((await put(shoot, 'largest.jpg', 'x'.repeat(LARGEST))).status).toBe(201);
    expect(incoming()).toEqual([]);
  });

  it('that its shoot does not take leaves no bytes behind', async () => {
    service = await serviceForTest({ MAX_FRAMES_PER_SHOOT: '1' });
    shoot = await newShoot(service.url);
    expect((await put(shoot, '1.jpg', 'measure 1')).status).toBe(201);
    expect(await codeOf(await put(shoot, '2.jpg', 'measure 2'))).toEqual([409, 'too-many-frames']);
    const other = await newShoot(service.url);
    const late = new ReadableStream<Uint8Array>({
      async pull(controller) {
        expect((await fetch(`${other}/complete`, { method: 'POST' })).status).toBe(200);
        controller.enqueue(Buffer.from('measure late'));
        controller.close();
      },
    }, { highWaterMark: 0 }); // prettier-ignore
    const sent = fetch(`${other}/frames/late.jpg`, { method: 'PUT', body: late, duplex: 'half' } as RequestInit);
    expect(await codeOf(await sent)).toEqual([409, 'shoot-complete']);
    const kept = readdirSync(join(service.dataDir, 'shoots'), { recursive: true, withFileTypes: true });
    expect(kept.filter((one) => one.isFile() && !one.name.includes('.'))).toHaveLength(1);
    expect(incoming()).toEqual([]);
  });

  it('of unknown length is cut off at the limit', async () => {
    const chunk = `2710\r\n${'x'.repeat(10_000)}\r\n`;
    const answer = await rawRequest(service.url, [head('x.jpg', 'Transfer-Encoding: chunked'), ...new Array<string>(11).fill(chunk)], 'wait'); // prettier-ignore
    expect(answer).toMatch(/^HTTP\/1\.1 413 /);
    expect(answer).toMatch(/\r\nConnection: close\r\n/i);
    expect(incoming()).toEqual([]);
    expect(await total()).toBe(0);
  });

  it('that is too large by its own word is not read at all', async () => {
    const answer = await rawRequest(service.url, [head('x.jpg', `Content-Length: ${LARGEST + 1}`, 'Expect: 100-continue')], 'wait'); // prettier-ignore
    expect(answer).toMatch(/^HTTP\/1\.1 413 /);
    const welcome = await rawRequest(service.url, [head('y.jpg', 'Content-Length: 7', 'Expect: 100-continue', 'Connection: close'), 'measure'], 'wait'); // prettier-ignore
    expect(welcome).toMatch(/^HTTP\/1\.1 100 Continue\r\n\r\nHTTP\/1\.1 201 /);
  });

  it('that breaks off leaves nothing', async () => {
    await ownService();
    await rawRequest(service.url, [head('x.jpg', 'Content-Length: 5000'), 'x'.repeat(1000)], 'reset');
    await rawRequest(service.url, [head('x.jpg', 'Content-Length: 5000'), 'x'.repeat(1000)], 'end');
    await rawRequest(service.url, [head('x.jpg', 'Transfer-Encoding: chunked'), 'ff\r\nxxx'], 'end');
    // A whole upload afterwards shows that the name is free, and gives the service the time to clean up.
    expect((await put(shoot, 'x.jpg', 'measure')).status).toBe(201);
    await service.close();
    expect(incoming()).toEqual([]);
  });

  it('that has more bytes than announced is at most taken as announced, and the rest is no request', async () => {
    const parts = [head('x.jpg', 'Content-Length: 7'), 'measureGET / HTTP/9\r\n\r\n'];
    const answer = await rawRequest(service.url, parts, 'wait');
    expect(answer).toContain('HTTP/1.1 400 Bad Request');
    expect([200, 201]).toContain((await put(shoot, 'x.jpg', 'measure')).status);
    const smuggling = await rawRequest(service.url, [head('y.jpg', 'Content-Length: 7', 'Transfer-Encoding: chunked'), '0\r\n\r\n'], 'wait'); // prettier-ignore
    expect(smuggling).toMatch(/^HTTP\/1\.1 400 /);
    expect(await total()).toBe(1);
  });

  it('is held to the digest that was sent with it', async () => {
    const right = `sha-256=:${sha256Base64('measure')}:`;
    const wrong = `sha-256=:${sha256Base64('another')}:`;
    expect(await codeOf(await put(shoot, 'x.jpg', 'measure', { 'content-digest': wrong }))).toEqual([422, 'digest-mismatch']); // prettier-ignore
    expect(await codeOf(await put(shoot, 'x.jpg', 'measure', { 'repr-digest': wrong }))).toEqual([422, 'digest-mismatch']); // prettier-ignore
    expect(await codeOf(await put(shoot, 'x.jpg', 'measure', { 'content-digest': 'sha-256=abc' }))).toEqual([400, 'bad-request']); // prettier-ignore
    expect(incoming()).toEqual([]);
    expect((await put(shoot, 'x.jpg', 'measure', { 'content-digest': `unixsum=:AA==:, ${right}` })).status).toBe(201);
  });

  it('is refused encoded or in part', async () => {
    expect(await codeOf(await put(shoot, 'x.jpg', 'measure', { 'content-encoding': 'gzip' }))).toEqual([415, 'unsupported-media-type']); // prettier-ignore
    expect(await codeOf(await put(shoot, 'x.jpg', 'measure', { 'content-range': 'bytes 0-6/9' }))).toEqual([400, 'bad-request']); // prettier-ignore
  });

  it('goes to a shoot that is there', async () => {
    const nowhere = shoot.replace(/[^/]+$/, '0'.repeat(32));
    expect(await codeOf(await put(nowhere, 'x.jpg', 'measure'))).toEqual([404, 'shoot-not-found']);
    expect(incoming()).toEqual([]);
  });
});

describe('a frame name', () => {
  it.each([
    '..',
    '.',
    '../x.jpg',
    '..\\x.jpg',
    'a/b.jpg',
    '/etc/passwd',
    'a\0.jpg',
    'a\n.jpg',
    'a\u202egpj.exe',
    'a\u200b.jpg',
    'a\u2060.jpg',
    ' a.jpg',
    'a.jpg ',
    'x'.repeat(256),
    'x'.repeat(4096),
    'é'.repeat(128),
  ])('that could be more than a name is refused: %j', async (name) => {
    const encoded = encodeURIComponent(name).replaceAll('.', '%2e');
    const answer = await rawRequest(service.url, [head(encoded, 'Content-Length: 7', 'Connection: close'), 'measure'], 'wait'); // prettier-ignore
    expect(answer).toMatch(/^HTTP\/1\.1 400 /);
    expect(answer).toContain('"code":"bad-frame-name"');
    expect(await total()).toBe(0);
  });

  it('that is just unusual is kept as it is', async () => {
    const names = [
      '写真 1.jpg',
      '100%.jpg',
      'a+b&c=d?.jpg',
      '#1;.jpg',
      "o'clock.jpg",
      '-rf',
      'x'.repeat(255),
      '%2e%2e',
      'CON',
    ];
    for (const name of names) {
      const response = await put(shoot, name, `measure ${name}`);
      expect([response.status, FrameReceipt.parse(await response.json()).name]).toEqual([201, name]);
    }
    const report = (await (await fetch(`${shoot}/report?wait=60`)).json()) as {
      frames: { name: string; measurement: string }[];
    };
    expect(report.frames.map(({ name }) => name).sort()).toEqual([...names].sort());
    for (const { measurement } of report.frames) expect((await fetch(service.url + measurement)).status).toBe(200);
  });

  it('is one name however its accents are typed', async () => {
    expect((await put(shoot, 'caf\u00e9.jpg', 'measure')).status).toBe(201);
    expect((await put(shoot, 'cafe\u0301.jpg', 'measure')).status).toBe(200);
  });

  it('is decoded once', async () => {
    const response = await fetch(`${shoot}/frames/a%252fb.jpg`, { method: 'PUT', body: 'measure' });
    expect(FrameReceipt.parse(await response.json()).name).toBe('a%2fb.jpg');
  });
});

describe('a multipart upload', () => {
  const upload = (files: [name: string, text: string][], fields: Record<string, string> = {}): Promise<Response> => {
    const form = new FormData();
    for (const [name, value] of Object.entries(fields)) form.append(name, value);
    for (const [name, text] of files) form.append('file', new Blob([text]), name);
    return fetch(`${shoot}/frames`, { method: 'POST', body: form });
  };

  it('is 201 when all are taken and 200 when all are repeated', async () => {
    const files: [string, string][] = [['1.jpg', 'measure 1'], ['2.jpg', 'measure 2'], ['ü 3.jpg', 'measure 3']]; // prettier-ignore
    const first = await upload(files);
    const outcome = UploadOutcome.parse(await first.json());
    expect(first.status).toBe(201);
    expect(outcome.frames.map(({ name }) => name)).toEqual(['1.jpg', '2.jpg', 'ü 3.jpg']);
    expect(outcome.refused).toEqual([]);
    expect((await upload(files)).status).toBe(200);
  });

  it('takes the good parts and refuses the others one by one', async () => {
    await put(shoot, 'taken.jpg', 'measure');
    const response = await upload(
      [
        ['1.jpg', 'measure 1'],
        ['taken.jpg', 'other bytes'],
        ['../2.jpg', 'measure 2'],
        ['large.jpg', 'x'.repeat(LARGEST + 1)],
        ['empty.jpg', ''],
        ['3.jpg', 'measure 3'],
        ['3.jpg', 'measure 3, another'],
      ],
      { comment: 'not a file' },
    );
    expect(response.status).toBe(207);
    const { frames, refused } = UploadOutcome.parse(await response.json());
    expect(frames.map(({ name }) => name)).toEqual(['1.jpg', '3.jpg']);
    expect(refused.map(({ name, problem }) => [name, problem.code])).toEqual([
      ['comment', 'bad-request'],
      ['taken.jpg', 'frame-name-taken'],
      ['../2.jpg', 'bad-frame-name'],
      ['large.jpg', 'frame-too-large'],
      ['empty.jpg', 'frame-empty'],
      ['3.jpg', 'frame-name-taken'],
    ]);
    expect(incoming()).toEqual([]);
  });

  it.skipIf(!existsSync(OPEN_FILES))('of very many small parts opens few files at a time', async () => {
    const openFiles = (): number => readdirSync(OPEN_FILES).length;
    const before = openFiles();
    const files = Array.from({ length: 1000 }, (_, index): [string, string] => [`${index}.jpg`, `measure ${index}`]);
    let response: Response | null = null;
    const sent = upload(files).then((answer) => {
      response = answer;
    });
    let most = 0;
    await until(() => {
      most = Math.max(most, openFiles() - before);
      return response !== null;
    });
    await sent;
    expect(most).toBeLessThan(200);
    expect(await total()).toBe(1000);
  });

  it('of which nothing is taken answers with the reason of the first', async () => {
    const response = await upload([['../1.jpg', 'measure'], ['empty.jpg', '']]); // prettier-ignore
    expect(response.status).toBe(400);
    const problem = (await response.json()) as { code: string; refused: unknown[] };
    expect([problem.code, problem.refused.length]).toEqual(['bad-frame-name', 2]);
    expect(await codeOf(await upload([]))).toEqual([422, 'no-frames']);
  });

  it('is refused when it is not multipart, or not whole', async () => {
    const send = (type: string, body: string) =>
      fetch(`${shoot}/frames`, { method: 'POST', headers: { 'content-type': type }, body });
    expect(await codeOf(await send('image/jpeg', 'x'))).toEqual([415, 'unsupported-media-type']);
    expect(await codeOf(await send('multipart/form-data', 'x'))).toEqual([400, 'bad-request']);
    const open = '--b\r\nContent-Disposition: form-data; name="f"; filename="x.jpg"\r\n\r\nmeasure';
    expect((await codeOf(await send('multipart/form-data; boundary=b', open)))[0]).toBe(400);
    expect(await total()).toBe(0);
    expect(incoming()).toEqual([]);
  });

  it('that breaks off keeps no part that was not whole', async () => {
    await ownService();
    const part = (name: string, text: string) =>
      `--b\r\nContent-Disposition: form-data; name="f"; filename="${name}"\r\n\r\n${text}`;
    const start = [`POST ${path()}/frames HTTP/1.1`, 'Host: localhost', 'Content-Type: multipart/form-data; boundary=b', 'Content-Length: 9000', '', ''].join('\r\n'); // prettier-ignore
    await rawRequest(service.url, [start, `${part('1.jpg', 'measure')}\r\n`, part('2.jpg', 'xxxx')], 'end');
    // The first part was whole, so it may have been taken; the second must not have been.
    expect((await put(shoot, '2.jpg', 'measure')).status).toBe(201);
    expect([200, 201]).toContain((await put(shoot, '1.jpg', 'measure')).status);
    await service.close();
    expect(incoming()).toEqual([]);
  });
});
