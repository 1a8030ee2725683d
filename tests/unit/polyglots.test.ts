import { createHash } from 'node:crypto';
import { deflateRawSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import { sniffFormat } from '../../worker/read/sniff-format.js';
import { decodeBytes } from '../support/decoded.js';
import { partsOf } from '../support/file-parts.js';
import { embedInJpeg } from '../support/icc-writer.js';
import { SEEDS } from '../support/seed-images.js';

const HTML = Buffer.from('<!doctype html><script>alert(document.domain)</script>\n');
const PDF = Buffer.from('%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');

/** A ZIP of one file without its directory, which is where readers of such files begin to look. */
function zip(): Buffer {
  const [name, data] = [Buffer.from('../../evil.sh'), deflateRawSync(Buffer.from('#!/bin/sh\n'))];
  const local = Buffer.alloc(30);
  local.write('PK\x03\x04', 0, 'latin1');
  local.writeUInt16LE(8, 8);
  local.writeUInt32LE(data.length, 18);
  local.writeUInt16LE(name.length, 26);
  const end = Buffer.alloc(22);
  end.write('PK\x05\x06', 0, 'latin1');
  return Buffer.concat([local, name, data, end]);
}

const FOREIGN: [string, Buffer][] = [['HTML', HTML], ['PDF', PDF], ['ZIP', zip()]]; // prettier-ignore
const CARRIERS = ['jpeg', 'png', 'plain tiff', 'webp', 'gif', 'avif', 'dng'] as const;

const codesOf = (decoded: unknown): string =>
  typeof decoded === 'object' &&
  decoded !== null &&
  'data' in decoded &&
  (decoded.data instanceof Uint8Array || decoded.data instanceof Uint16Array)
    ? createHash('sha256').update(decoded.data).digest('hex')
    : String(decoded);

describe('a file that is two things', () => {
  it.each(FOREIGN.flatMap(([what, tail]) => CARRIERS.map((name) => [name, what, tail] as const)))(
    '%s with a tail of %s: the picture, to the last code, or refused',
    async (name, _, tail) => {
      const bytes = await SEEDS[name]();
      const both = Buffer.concat([bytes, tail]);
      expect(sniffFormat(both)).toEqual(sniffFormat(bytes));
      const decoded = await decodeBytes(both).catch((thrown: unknown) => thrown);
      // Boxes go on to the end of the file, so that most tails are a box that is not whole.
      if (decoded instanceof StopledgerError) expect([name, decoded.code]).toEqual(['avif', 'frame-truncated']);
      else expect(codesOf(decoded)).toEqual(codesOf(await decodeBytes(bytes)));
    },
  );

  it.each(FOREIGN.flatMap(([what, head]) => CARRIERS.map((name) => [name, what, head] as const)))(
    '%s behind a head of %s is no image',
    async (name, _, head) => {
      const both = Buffer.concat([head, await SEEDS[name]()]);
      await expect(decodeBytes(both)).rejects.toMatchObject({ code: 'frame-not-an-image' });
    },
  );

  it('a PNG, or another JPEG, inside a JPEG’s segment: the outer one is measured', async () => {
    const outer = await SEEDS['grey jpeg']();
    for (const name of ['1-bit png', 'jpeg'] as const) {
      const both = embedInJpeg(outer, await SEEDS[name]());
      expect(both.length).toBeLessThan(65_536);
      const frame = await decodeBytes(both);
      expect(frame).toMatchObject({ format: 'jpeg', channels: 1 });
      expect(Buffer.from(frame.data).equals(Buffer.from((await decodeBytes(outer)).data))).toBe(true);
    }
  });

  it('a JPEG whose end mark is followed by another JPEG: the first one is measured', async () => {
    const [first, second] = [await SEEDS['grey jpeg'](), await SEEDS.jpeg()];
    expect(await decodeBytes(Buffer.concat([first, second]))).toMatchObject({ channels: 1 });
  });

  it('a picture in a TIFF that also says that it is a DNG is a raw to all who ask, and none that can be read', async () => {
    const bytes = await SEEDS['plain tiff']();
    // Software becomes DNGVersion 1.4.0.0: one tag makes a raw of it.
    const entry = partsOf(bytes).at(-1);
    bytes.writeUInt16LE(50_706, entry?.start ?? 0);
    bytes.writeUInt16LE(1, (entry?.start ?? 0) + 2);
    bytes.writeUInt32LE(4, (entry?.start ?? 0) + 4);
    bytes.writeUInt32LE(0x0401, (entry?.start ?? 0) + 8);
    expect(sniffFormat(bytes)).toMatchObject({ format: 'raw', rawFamily: 'dng' });
    const decoded = await decodeBytes(bytes).catch((thrown: unknown) => thrown);
    expect(decoded).toMatchObject({ code: expect.stringMatching(/^frame-/) as string });
  });
});
