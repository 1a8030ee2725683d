import { DOMParser } from '@xmldom/xmldom';
import { parse } from 'csv-parse/sync';
import { parseHTML } from 'linkedom';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pino } from 'pino';
import { readConfig } from '../../src/config.js';
import { startService, type RunningService } from '../../src/main.js';
import { newShoot, put } from '../support/service.js';
import { temporaryFolderForFile } from '../support/temporary-folder.js';

const MARKUP = '"><img src=x onerror=alert(1)><script>alert(2)</script>';
const XML = ']]></rdf:li><evil xmlns="urn:evil"/><!--&entity;';
const FORMULA = '=HYPERLINK("http://evil.example")';
const NAMES = [`${MARKUP.replaceAll('/', '')}.jpg`, `${XML.replaceAll('/', '')}.jpg`, `${FORMULA.replaceAll('/', '')}.jpg`]; // prettier-ignore
/** As Exif holds text. */
const MODEL = `${MARKUP}${XML}`;
const LENS = `${FORMULA}${MARKUP}`;

/** Through the real measuring, since what Exif holds comes from the file. */
describe('names and Exif strings of a hostile shoot', () => {
  const folder = temporaryFolderForFile();
  let service: RunningService;
  let shoot: string;
  beforeAll(async () => {
    const config = readConfig({ PORT: '0', DATA_DIR: folder(), WORKERS: '1' });
    service = await startService(config, { log: pino({ level: 'silent' }) });
    shoot = await newShoot(service.url, { name: `${MARKUP}${XML}` });
    for (const [index, name] of NAMES.entries()) {
      const jpeg =
        await sharp({ create: { width: 96, height: 64, channels: 3, background: { r: 90 + 40 * index, g: 90, b: 90 } } }) // prettier-ignore
          .withExif({
            IFD0: { Make: MARKUP, Model: MODEL, Artist: MARKUP },
            IFD2: { LensModel: LENS, FNumber: '4/1', ExposureTime: '1/100', ISOSpeedRatings: '100' },
          }) // prettier-ignore
          .jpeg()
          .toBuffer();
      expect((await put(shoot, name, new Uint8Array(jpeg))).status).toBe(201);
    }
    expect((await fetch(`${shoot}/report?wait=100`)).status).toBe(200);
  }, 120_000);
  afterAll(() => service.close());
  const as = async (type: string): Promise<string> => (await fetch(`${shoot}/report`, { headers: { accept: type } })).text(); // prettier-ignore

  it('stand in the page as text: no element, no attribute and no script is theirs', async () => {
    const { document } = parseHTML(await as('text/html'));
    expect(document.querySelector('h1')?.textContent).toContain(MARKUP);
    const text = document.querySelector('body')?.textContent ?? '';
    for (const given of [...NAMES, MODEL, LENS]) expect(text).toContain(given);
    expect(document.querySelectorAll('script')).toHaveLength(1);
    expect(document.querySelectorAll('evil, img[src="x"], [onerror]')).toHaveLength(0);
    for (const element of document.querySelectorAll('*')) {
      expect(element.getAttributeNames().filter((name) => name.startsWith('on'))).toEqual([]);
      for (const name of ['href', 'src']) expect(element.getAttribute(name) ?? '').not.toMatch(/^\s*(javascript|vbscript):/i); // prettier-ignore
    }
  });

  it('stand in the table as text: no cell begins as a formula', async () => {
    const rows = parse<Record<string, string>>(await as('text/csv'), { columns: true, bom: true });
    expect(rows.map(({ name }) => name).sort()).toEqual([NAMES[0], `'${NAMES[2]}`, NAMES[1]].sort());
    for (const row of rows) for (const cell of Object.values(row)) if (Number.isNaN(Number(cell))) expect(cell).not.toMatch(/^[=+@\t\r-]/); // prettier-ignore
  });

  it('stand in the sidecars as text: no element is theirs', async () => {
    for (const name of NAMES) {
      const response = await fetch(`${shoot}/frames/${encodeURIComponent(name)}/sidecar`);
      expect(response.status).toBe(200);
      const xml = await response.text();
      const document = new DOMParser({
        onError: (_level, message) => {
          throw new Error(message);
        },
      }).parseFromString(xml, 'application/xml');
      expect(document.getElementsByTagNameNS('urn:evil', '*').length).toBe(0);
      expect(document.getElementsByTagName('script').length + document.getElementsByTagName('img').length).toBe(0);
      expect(response.headers.get('content-disposition')).not.toMatch(/[\r\n]/);
    }
  });

  it('stand in the measurement as they were written', async () => {
    const frame = await fetch(`${shoot}/frames/${encodeURIComponent(NAMES[0] ?? '')}`);
    expect(frame.headers.get('content-type')).toContain('application/json');
    expect(frame.headers.get('x-content-type-options')).toBe('nosniff');
    expect(await frame.json()).toMatchObject({ exposure: { cameraModel: MODEL, lensModel: LENS } });
  });
});
