import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../src/config.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { createLog } from '../../src/log.js';
import { type RunningService, startService } from '../../src/main.js';
import { overlaySvg } from '../../src/render/overlay.js';
import { newShoot, put } from '../support/service.js';
import { temporaryFolderForFile } from '../support/temporary-folder.js';

const [WIDTH_PX, HEIGHT_PX] = [3072, 2048];
/** Pixels of such a frame that are one of the working image and of the preview. */
const CELL_PX = 3;

/** A grey frame with white where said, in a JPEG that keeps single pixels apart. */
async function frameOf(isWhite: (x: number, y: number) => boolean): Promise<Uint8Array<ArrayBuffer>> {
  const grey = new Uint8Array(WIDTH_PX * HEIGHT_PX).fill(70);
  for (let y = 0, i = 0; y < HEIGHT_PX; y += 1) for (let x = 0; x < WIDTH_PX; x += 1, i += 1) if (isWhite(x, y)) grey[i] = 255; // prettier-ignore
  const jpeg = await sharp(grey, { raw: { width: WIDTH_PX, height: HEIGHT_PX, channels: 1 } })
    .jpeg({ quality: 100 })
    .toBuffer();
  return new Uint8Array(jpeg);
}

const cell = (x: number): number => Math.floor(x / CELL_PX);

/** A picture, about how many clipped blobs it has, and how much of it they are. */
const PICTURES: [what: string, blobs: number, share: number, isWhite: (x: number, y: number) => boolean][] = [
  ['single pixels', 1_572_864, 0.25, (x, y) => x % 2 === 0 && y % 2 === 0],
  ['squares of the size of a pixel of the preview', 349_525, 0.5, (x, y) => (cell(x) + cell(y)) % 2 === 0],
  ['one area that is all edge', 1, 0.75, (x, y) => cell(x) % 2 === 0 || cell(y) % 2 === 0],
  ['everything', 1, 1, () => true],
];

const folder = temporaryFolderForFile();
let service: RunningService;
const shoots: string[] = [];
beforeAll(async () => {
  const config = readConfig({ PORT: '0', DATA_DIR: folder(), WORKERS: '1', SHUTDOWN_SECONDS: '0' });
  service = await startService(config, { log: createLog(config, { write: () => undefined }) });
  for (const [, , , isWhite] of PICTURES) {
    const shoot = await newShoot(service.url);
    expect((await put(shoot, 'a.jpg', await frameOf(isWhite))).status).toBe(201);
    shoots.push(shoot);
  }
}, 60_000);
afterAll(() => service.close());

describe.each(PICTURES)('a frame whose clipped highlights are %s', (what, blobs, share) => {
  const shootOf = (): string => shoots[PICTURES.findIndex(([name]) => name === what)]!;
  const of = (which: string): Promise<Response> => fetch(`${shootOf()}/frames/a.jpg${which}`);
  const bytesOf = async (response: Response): Promise<Buffer> => Buffer.from(await response.arrayBuffer());

  it('is measured, and the answer has no more in it for each of them', async () => {
    const response = await of('?wait=50');
    expect(response.status).toBe(200);
    const text = await response.text();
    expect(text.length).toBeLessThan(100_000);
    const measurement = JSON.parse(text) as FrameMeasurement;
    const { highlights } = measurement.clipping;
    expect(highlights.anyChannelShare).toBeCloseTo(share, 1);
    // Of many blobs none is large; one area is all that there is.
    if (blobs > 1) expect(highlights.largestAreaShare).toBeLessThan(0.001);
    else expect(highlights.largestAreaShare).toBeGreaterThan(0.5);
    expect(overlaySvg(measurement, 1024, 683).length).toBeLessThan(20_000);
  }, 60_000);

  it('has an overlay of the preview’s size, of at most a few times its bytes, the same however often it is asked for', async () => {
    const preview = await bytesOf(await of('/preview'));
    const [overlay, ...others] = await Promise.all([1, 2, 3, 4, 5, 6].map(async () => bytesOf(await of('/overlay'))));
    expect(await sharp(overlay).metadata()).toMatchObject({ format: 'jpeg', width: 1024, height: 683 });
    // No JPEG of this size and quality has more.
    expect(overlay!.byteLength).toBeLessThan(Math.max(3 * preview.byteLength, 1_000_000));
    for (const other of others) expect(other.equals(overlay!)).toBe(true);
  });

  it('has a sidecar, a report and no lift mask, none larger for the number of blobs', async () => {
    await fetch(`${shootOf()}/complete`, { method: 'POST' });
    const sidecar = await (await of('/sidecar')).text();
    expect(sidecar).toContain('<stopledger:verdict>');
    expect(sidecar.length).toBeLessThan(20_000);
    expect((await of('/lift-mask?region=face')).status).toBe(404);
    const report = await fetch(`${shootOf()}/report?wait=20`, { headers: { accept: 'application/json' } });
    expect((await report.text()).length).toBeLessThan(50_000);
  });
});
