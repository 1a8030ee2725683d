import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { Problem } from '../../src/contracts/api.js';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootReport } from '../../src/contracts/report.js';
import { newShoot, put, serviceForFile, serviceForTest, type ServiceUnderTest } from '../support/service.js';

const running = serviceForFile();
let service: ServiceUnderTest;
let shoot: string;
beforeEach(async () => {
  service = running();
  shoot = await newShoot(service.url);
});

const get = (path: string, headers: Record<string, string> = {}) => fetch(shoot + path, { headers });
const codeOf = async (response: Response): Promise<[number, string]> => [
  response.status,
  Problem.parse(await response.json()).code,
];

describe('a report', () => {
  it('is 409 with a time to come back while a frame is not measured', async () => {
    expect(await codeOf(await get('/report'))).toEqual([409, 'report-not-ready']);
    const gate = join(service.dataDir, 'gate');
    await put(shoot, 'x.jpg', `wait-for ${gate}`);
    const early = await get('/report');
    expect(early.headers.get('retry-after')).toBe('1');
    expect(await codeOf(early)).toEqual([409, 'report-not-ready']);
    expect(await codeOf(await get('/report?wait=0.01'))).toEqual([409, 'report-not-ready']);
    const waiting = get('/report?wait=60');
    writeFileSync(gate, '');
    expect((await waiting).status).toBe(200);
  });

  it('covers what is there before the shoot is complete, and what came since when asked again', async () => {
    await put(shoot, '1.jpg', 'measure 1');
    const first = ShootReport.parse(await (await get('/report?wait=60')).json());
    expect(first.frames.map(({ name }) => name)).toEqual(['1.jpg']);
    await put(shoot, '2.jpg', 'measure 2');
    const second = ShootReport.parse(await (await get('/report?wait=60')).json());
    expect(second.frames.map(({ name }) => name).sort()).toEqual(['1.jpg', '2.jpg']);
  });

  it('of a complete shoot without frames is empty', async () => {
    await fetch(`${shoot}/complete`, { method: 'POST' });
    expect(ShootReport.parse(await (await get('/report')).json()).frames).toEqual([]);
  });

  it('holds a frame that could not be measured with its reason', async () => {
    await put(shoot, 'bad.jpg', 'refuse frame-corrupt');
    await put(shoot, 'deadly.jpg', 'die');
    await put(shoot, 'strange.jpg', 'throw');
    await put(shoot, 'good.jpg', 'measure');
    const report = ShootReport.parse(await (await get('/report?wait=60')).json());
    const verdicts = new Map(report.frames.map((frame) => [frame.name, frame.verdict]));
    expect([verdicts.get('bad.jpg'), verdicts.get('deadly.jpg'), verdicts.get('strange.jpg')]).toEqual(
      new Array(3).fill('unreadable'),
    );
    expect(verdicts.get('good.jpg')).not.toBe('unreadable');
    const bad = report.frames.find(({ name }) => name === 'bad.jpg');
    expect(bad?.flags.map(({ code }) => code)).toContain('unreadable');
  });

  it('comes as JSON, CSV or HTML, as asked, and JSON unasked', async () => {
    await put(shoot, '1.jpg', 'measure 1');
    await get('/report?wait=60');
    for (const [accept, type] of [
      ['*/*', 'application/json'],
      ['application/json', 'application/json'],
      ['text/csv', 'text/csv'],
      ['text/html,application/xhtml+xml,*/*;q=0.8', 'text/html'],
      ['text/csv;q=0.5, text/html;q=0.1', 'text/csv'],
    ] as const) {
      const response = await get('/report', { accept });
      expect([response.status, response.headers.get('content-type')?.split(';')[0]]).toEqual([200, type]);
      expect(response.headers.get('vary')).toMatch(/accept/i);
    }
    expect((await (await get('/report', { accept: 'text/csv' })).text()).split('\r\n')).toHaveLength(3);
    const page = await get('/report', { accept: 'text/html' });
    expect(page.headers.get('content-security-policy')).toMatch(/default-src 'none'/);
    expect(await page.text()).toContain('data:image/jpeg;base64,');
  });

  it('is not sent again when it did not change', async () => {
    await put(shoot, '1.jpg', 'measure 1');
    const etag = (await get('/report?wait=60')).headers.get('etag') ?? '';
    expect((await get('/report', { 'if-none-match': etag })).status).toBe(304);
    expect((await get('/report', { 'if-none-match': etag, accept: 'text/csv' })).status).toBe(200);
    await put(shoot, '2.jpg', 'measure 2');
    expect((await get('/report?wait=60', { 'if-none-match': etag })).status).toBe(200);
  });

  it('ends its wait when the shoot is deleted or the service shuts down', async () => {
    service = await serviceForTest();
    shoot = await newShoot(service.url);
    await put(shoot, 'x.jpg', 'hang');
    const waiting = get('/report?wait=60');
    const other = await newShoot(service.url);
    const alsoWaiting = fetch(`${other}/report?wait=60`);
    await fetch(shoot, { method: 'DELETE' });
    expect(await codeOf(await waiting)).toEqual([404, 'shoot-not-found']);
    const closed = service.close();
    expect(await codeOf(await alsoWaiting)).toEqual([503, 'shutting-down']);
    await closed;
  });
});

describe('a frame', () => {
  it('answers with its whole measurement and pictures once it is measured', async () => {
    await put(shoot, 'a b.jpg', 'measure');
    const response = await get('/frames/a%20b.jpg?wait=60');
    expect(response.status).toBe(200);
    FrameMeasurement.parse(await response.json());
    for (const picture of ['preview', 'overlay']) {
      const { status, headers } = await get(`/frames/a%20b.jpg/${picture}`);
      expect([status, headers.get('content-type')]).toEqual([200, 'image/jpeg']);
      const etag = headers.get('etag') ?? '';
      expect((await get(`/frames/a%20b.jpg/${picture}`, { 'if-none-match': etag })).status).toBe(304);
    }
  });

  it('answers with its failure, or that it is not measured yet', async () => {
    await put(shoot, 'bad.jpg', 'refuse frame-truncated');
    expect(await codeOf(await get('/frames/bad.jpg?wait=60'))).toEqual([422, 'frame-truncated']);
    expect(await codeOf(await get('/frames/bad.jpg/preview'))).toEqual([422, 'frame-truncated']);
    // Elsewhere that could be tried again; a frame that failed for good never can.
    await put(shoot, 'slow-for-good.jpg', 'refuse frame-timed-out');
    const late = await get('/frames/slow-for-good.jpg?wait=60');
    expect(await late.json()).toMatchObject({ code: 'frame-timed-out', retryable: false });
    const gate = join(service.dataDir, 'second gate');
    await put(shoot, 'slow.jpg', `wait-for ${gate}`);
    expect(await codeOf(await get('/frames/slow.jpg'))).toEqual([409, 'report-not-ready']);
    writeFileSync(gate, '');
    expect(await codeOf(await get('/frames/none.jpg'))).toEqual([404, 'frame-not-found']);
    expect(await codeOf(await get('/frames/none.jpg/overlay'))).toEqual([404, 'frame-not-found']);
    expect(await codeOf(await get('/frames/x.jpg/nothing'))).toEqual([404, 'not-found']);
  });
});
