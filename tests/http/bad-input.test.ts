import { crc32, deflateSync } from 'node:zlib';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { readConfig } from '../../src/config.js';
import { ShootReport } from '../../src/contracts/report.js';
import { startService, type RunningService } from '../../src/main.js';
import { newShoot, put } from '../support/service.js';

/** A plain picture with some structure, 96 × 64. */
const picture = () => {
  const pixels = Buffer.alloc(96 * 64 * 3);
  for (let index = 0; index < pixels.length; index += 1) pixels[index] = 60 + ((index * 7) % 120);
  return sharp(pixels, { raw: { width: 96, height: 64, channels: 3 } });
};

function pngChunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, sum]);
}

/** A PNG (ISO/IEC 15948) whose header says 30,000 × 30,000 and that holds a few bytes. */
function pngOfHugeSize(): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(30_000, 0);
  header.writeUInt32BE(30_000, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([signature, pngChunk('IHDR', header), pngChunk('IDAT', deflateSync(Buffer.alloc(1000))), pngChunk('IEND', Buffer.of())]); // prettier-ignore
}

/** A little-endian TIFF block of one IFD that points to an Exif IFD with rationals over zero (Exif 2.3, section 4.6). */
function exifWithZeroDenominators(): Buffer {
  const block = Buffer.alloc(26 + 2 + 12 * 2 + 4 + 16);
  block.write('II*\0', 0, 'latin1');
  block.writeUInt32LE(8, 4);
  block.writeUInt16LE(1, 8);
  block.writeUInt16LE(0x8769, 10); // Exif IFD
  block.writeUInt16LE(4, 12);
  block.writeUInt32LE(1, 14);
  block.writeUInt32LE(26, 18);
  block.writeUInt16LE(2, 26);
  const values = 26 + 2 + 24 + 4;
  for (const [index, tag] of [0x829a, 0x829d].entries()) {
    const at = 28 + index * 12;
    block.writeUInt16LE(tag, at); // exposure time, F-number
    block.writeUInt16LE(5, at + 2);
    block.writeUInt32LE(1, at + 4);
    block.writeUInt32LE(values + index * 8, at + 8);
    block.writeUInt32LE(1, values + index * 8); // 1/0
  }
  return Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), block]);
}

/** Puts an APP1 segment right after a JPEG's start. */
function withApp1(jpeg: Buffer, payload: Buffer): Buffer {
  const length = Buffer.alloc(2);
  length.writeUInt16BE(payload.length + 2);
  return Buffer.concat([jpeg.subarray(0, 2), Buffer.from([0xff, 0xe1]), length, payload, jpeg.subarray(2)]);
}

describe('bad and unusual files, each in a shoot with the others', () => {
  let service: RunningService;
  let folder: string;
  let report: ShootReport;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'stopledger-test-'));
    const config = readConfig({
      PORT: '0',
      DATA_DIR: folder,
      WORKERS: '1',
      LOG_LEVEL: 'silent',
      SHUTDOWN_SECONDS: '0',
    });
    service = await startService(config, { log: pino({ level: 'silent' }) });
    const jpeg = await picture().jpeg().toBuffer();
    const files: Record<string, Buffer> = {
      'good.jpg': jpeg,
      'not-an-image.jpg': Buffer.from('this is a text about a photograph, and no photograph'),
      'truncated.jpg': jpeg.subarray(0, Math.floor(jpeg.length / 2)),
      'only-a-signature.jpg': jpeg.subarray(0, 3),
      'huge-header.png': pngOfHugeSize(),
      'really-a-png.jpg': await picture().png().toBuffer(),
      'cmyk.jpg': await picture().toColourspace('cmyk').jpeg().toBuffer(),
      'sixteen-bit.png': await picture().toColourspace('rgb16').png().toBuffer(),
      'greyscale.jpg': await picture().greyscale().jpeg().toBuffer(),
      'zero-denominators.jpg': withApp1(jpeg, exifWithZeroDenominators()),
    };
    const shoot = await newShoot(service.url);
    for (const [name, bytes] of Object.entries(files)) {
      const { status } = await put(shoot, name, new Uint8Array(bytes));
      if (status !== 201) throw new Error(`${name}: ${status}`);
    }
    const response = await fetch(`${shoot}/report?wait=200`);
    report = ShootReport.parse(await response.json());
  }, 240_000);
  afterAll(async () => {
    await service.close();
    await rm(folder, { recursive: true, force: true });
  });

  const frame = (name: string) => {
    const found = report.frames.find((one) => one.name === name);
    if (found === undefined) throw new Error(`${name} is not in the report`);
    return found;
  };
  const reasonOf = (name: string): string => frame(name).flags.find(({ code }) => code === 'unreadable')?.because ?? '';

  it('all stand in the report', () => {
    expect(report.frames).toHaveLength(10);
  });

  it.each(['not-an-image.jpg', 'truncated.jpg', 'only-a-signature.jpg', 'huge-header.png'])(
    '%s is unreadable, with its reason',
    (name) => {
      expect(frame(name).verdict).toBe('unreadable');
      expect(reasonOf(name)).not.toBe('');
    },
  );

  it.each(['good.jpg', 'really-a-png.jpg', 'cmyk.jpg', 'sixteen-bit.png', 'greyscale.jpg', 'zero-denominators.jpg'])(
    '%s is measured',
    (name) => {
      expect(reasonOf(name)).toBe('');
      expect(frame(name).measurement).not.toBeNull();
    },
  );

  it('takes an exposure over zero as not known', () => {
    expect(frame('zero-denominators.jpg').exposure).toMatchObject({ fNumber: null, exposureTimeSeconds: null });
    expect(frame('good.jpg').flags.map(({ code }) => code)).toContain('no-exposure-data');
  });
});
