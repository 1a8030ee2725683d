import { readFileSync, readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { pino } from 'pino';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../src/config.js';
import type { Problem } from '../../src/contracts/api.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { ShootReport } from '../../src/contracts/report.js';
import { startService, type RunningService } from '../../src/main.js';
import { REPOSITORY } from '../support/cli.js';
import { newShoot, put, serviceForFile } from '../support/service.js';
import { temporaryFolderForFile } from '../support/temporary-folder.js';

const problem = async (response: Response): Promise<Problem> => (await response.json()) as Problem;

describe('advice on frames that need none', () => {
  const running = serviceForFile();
  const of = (shoot: string, which: string): Promise<Response> => fetch(`${shoot}/frames/P1.jpg/${which}`);

  it('is a 404 that says so; the sidecar says what there is', async () => {
    const shoot = await newShoot(running().url);
    await put(shoot, 'P1.jpg', 'one');
    await put(shoot, 'P1.tif', 'two');
    expect((await of(shoot, 'sidecar?wait=20')).status).toBe(200);
    const sidecar = await of(shoot, 'sidecar');
    expect(sidecar.headers.get('content-type')).toBe('application/rdf+xml; charset=utf-8');
    expect(sidecar.headers.get('content-disposition')).toBe('attachment; filename=P1.jpg.xmp');
    expect(await sidecar.text()).toContain('<stopledger:verdict>');
    for (const [which, why] of [
      ['before-after', 'corrects nothing'],
      ['lift-mask?region=lower-body', 'lifts no lower-body'],
    ] as const) {
      const response = await of(shoot, which);
      expect(response.status).toBe(404);
      expect(await problem(response)).toMatchObject({ code: 'no-such-advice', detail: expect.stringContaining(why) as string }); // prettier-ignore
    }
  });

  it('and pictures whose kept parts are gone are a 404 that the operator is told of', async () => {
    const shoot = await newShoot(running().url);
    await put(shoot, 'P1.jpg', 'one');
    expect((await of(shoot, 'preview?wait=20')).status).toBe(200);
    const folder = join(running().dataDir, 'shoots', shoot.split('/').pop() ?? '');
    for (const name of readdirSync(folder)) if (name.endsWith('.preview.jpg')) rmSync(join(folder, name));
    for (const which of ['preview', 'overlay', 'before-after']) {
      const response = await of(shoot, which);
      expect(response.status).toBe(404);
      expect(await problem(response)).toMatchObject({ code: 'picture-missing', retryable: false });
    }
    const told = running().logged.filter((line) => line.includes('a picture that was kept is gone'));
    expect(told).toHaveLength(3);
    expect(told[0]).toContain('"frameName":"P1.jpg"');
    expect((await fetch(`${shoot}/frames/P1.jpg`)).status).toBe(200);
  });

  it('is asked for with a region, a depth and a format that there are', async () => {
    const shoot = await newShoot(running().url);
    await put(shoot, 'P1.jpg', 'one');
    for (const query of [
      '',
      '?region=frame',
      '?region=face&depth=12',
      '?region=face&format=jpeg',
      '?region=face&region=face',
    ]) {
      const response = await of(shoot, `lift-mask${query}`);
      expect([query, response.status, (await problem(response)).code]).toEqual([query, 400, 'bad-request']);
    }
    const refused = await fetch(`${shoot}/frames/P1.jpg/lift-mask?region=face`, { headers: { accept: 'image/jpeg' } });
    expect(refused.status).toBe(406);
  });

  it('waits for all frames of the shoot, as the report does, and needs a frame that could be measured', async () => {
    const shoot = await newShoot(running().url);
    await put(shoot, 'bad.jpg', 'refuse frame-corrupt');
    const failed = await fetch(`${shoot}/frames/bad.jpg/sidecar?wait=20`);
    expect([failed.status, (await problem(failed)).code]).toEqual([422, 'frame-corrupt']);
    await put(shoot, 'hangs.jpg', 'wait-for /no/such/file');
    const early = await of(shoot, 'sidecar');
    expect([early.status, (await problem(early)).code]).toEqual([404, 'frame-not-found']);
    const pending = await fetch(`${shoot}/frames/bad.jpg/sidecar`);
    expect([pending.status, (await problem(pending)).code]).toEqual([409, 'report-not-ready']);
  });
});

describe('advice on a lower body that gets too little light', () => {
  const NAMES = [44, 45, 46, 47].map((n) => `MKR_00${n}.jpg`);
  const folder = temporaryFolderForFile();
  let service: RunningService;
  let frame: string;
  let measurement: FrameMeasurement;

  beforeAll(async () => {
    const config = readConfig({ PORT: '0', DATA_DIR: folder(), WORKERS: '1' });
    service = await startService(config, { log: pino({ level: 'silent' }) });
    const shoot = await newShoot(service.url);
    for (const name of NAMES) {
      await put(shoot, name, new Uint8Array(readFileSync(join(REPOSITORY, 'samples', 'shoot', name))));
    }
    const report = (await (await fetch(`${shoot}/report?wait=120`)).json()) as ShootReport;
    expect(report.frames.find(({ name }) => name === 'MKR_0046.jpg')?.lifts.map((l) => l.region)).toEqual([
      'lower-body',
    ]);
    frame = `${shoot}/frames/MKR_0046.jpg`;
    measurement = (await (await fetch(frame)).json()) as FrameMeasurement;
  }, 180_000);
  afterAll(() => service.close());

  it('is a mask at the size of the frame, in each kind', async () => {
    for (const [query, format, depth] of [
      ['', 'png', 'ushort'],
      ['&depth=8', 'png', 'uchar'],
      ['&format=tiff', 'tiff', 'ushort'],
    ] as const) {
      const response = await fetch(`${frame}/lift-mask?region=lower-body${query}`);
      expect(response.headers.get('content-type')).toBe(`image/${format}`);
      const picture = await sharp(await response.arrayBuffer()).metadata();
      const { widthPx, heightPx } = measurement.source;
      expect([picture.format, picture.depth, picture.width, picture.height]).toEqual([
        format,
        depth,
        widthPx,
        heightPx,
      ]);
    }
    const other = await fetch(`${frame}/lift-mask?region=face`);
    expect([other.status, (await problem(other)).detail]).toEqual([
      404,
      expect.stringContaining('it lifts lower-body'),
    ]);
  });

  it('is a picture of before and after, and a sidecar; both are not sent twice', async () => {
    const picture = await fetch(`${frame}/before-after`);
    expect(picture.headers.get('content-type')).toBe('image/jpeg');
    const { width = 0, height = 0 } = await sharp(await picture.arrayBuffer()).metadata();
    expect(width / 2 / height).toBeCloseTo(measurement.source.widthPx / measurement.source.heightPx, 1);
    const sidecar = await fetch(`${frame}/sidecar`);
    expect(await sidecar.text()).toContain('<rdf:li>stopledger: lower body under-lit</rdf:li>');
    for (const [which, first] of [
      ['before-after', picture],
      ['sidecar', sidecar],
    ] as const) {
      const etag = first.headers.get('etag') ?? '';
      expect(etag).toMatch(/^"[0-9a-f]{32}"$/);
      expect((await fetch(`${frame}/${which}`, { headers: { 'if-none-match': etag } })).status).toBe(304);
    }
  });
});
