import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import { announcedSizesPx, missingFromBoxes, readBoxes } from '../../worker/decode/box-file.js';
import { missingFromItemLocations } from '../../worker/decode/item-locations.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { assertWellFormed, decodeBytes } from '../support/decoded.js';
import { descriptionTag, writeProfile } from '../support/icc-writer.js';
import { SEED_SIZE_PX, SEEDS } from '../support/seed-images.js';

function box(type: string, content: Buffer, declaredBytes = 8 + content.length): Buffer {
  const head = Buffer.alloc(8);
  head.writeUInt32BE(declaredBytes, 0);
  head.write(type, 4, 'latin1');
  return Buffer.concat([head, content]);
}

/** An iloc of version 1 with one item of one extent (ISO/IEC 14496-12 clause 8.11.3). */
function itemLocations(offset: number, lengthBytes: number, constructionMethod = 0): Buffer {
  const content = Buffer.alloc(4 + 2 + 2 + 2 + 2 + 2 + 2 + 4 + 4);
  content.writeUInt8(1, 0);
  content.writeUInt8(0x44, 4);
  content.writeUInt16BE(1, 6);
  content.writeUInt16BE(1, 8);
  content.writeUInt16BE(constructionMethod, 10);
  content.writeUInt16BE(1, 14);
  content.writeUInt32BE(offset, 16);
  content.writeUInt32BE(lengthBytes, 20);
  return box('meta', Buffer.concat([Buffer.alloc(4), box('iloc', content)]));
}

describe('boxes of AVIF and HEIF', () => {
  it('are read with 32-bit, 64-bit and open-ended sizes', () => {
    const large = Buffer.alloc(20);
    large.writeUInt32BE(1, 0);
    large.write('free', 4, 'latin1');
    large.writeBigUInt64BE(20n, 8);
    const bytes = Buffer.concat([box('ftyp', Buffer.alloc(4)), large, box('mdat', Buffer.alloc(7), 0)]);
    const { boxes, missing } = readBoxes(bytes);
    expect(missing).toBeNull();
    expect(boxes).toEqual([
      { type: 'ftyp', start: 8, end: 12 },
      { type: 'free', start: 28, end: 32 },
      { type: 'mdat', start: 40, end: 47 },
    ]);
  });

  it('a box that goes on beyond the end is told by name and length', () => {
    const bytes = Buffer.concat([box('meta', Buffer.alloc(4)), box('mdat', Buffer.alloc(10), 5000)]);
    expect(missingFromBoxes(bytes)).toMatch(/mdat.*5012.*30/);
  });

  it('sizes that cannot be do not loop and do not throw', () => {
    for (const declared of [2, 4, 7]) expect(readBoxes(box('free', Buffer.alloc(20), declared)).boxes).toEqual([]);
  });

  it('image data placed beyond the end is told', () => {
    expect(missingFromItemLocations(itemLocations(10, 20))).toBeNull();
    expect(missingFromItemLocations(itemLocations(10, 2000))).toContain('2010');
    expect(missingFromItemLocations(itemLocations(10, 2000, 1))).toBeNull();
    expect(missingFromItemLocations(Buffer.from('not a box file at all'))).toBeNull();
  });

  it('the announced size is that of the picture', async () => {
    expect(announcedSizesPx(await SEEDS.avif())).toContainEqual(SEED_SIZE_PX);
  });
});

const folder = join(import.meta.dirname, '../../../shared/files/heif');

describe.skipIf(!existsSync(folder))('HEIC files made by others (skipped where ../shared is absent)', () => {
  const file = (name: string): Buffer => readFileSync(join(folder, name));

  it.each(['kf_orient1.heic', 'kf_orient6.heic'])(
    '%s comes upright: 480 x 160, nothing left to apply',
    async (name) => {
      const frame = await decodeBytes(file(name), 1e8, 6);
      assertWellFormed(frame);
      expect(frame).toMatchObject({ format: 'heif', orientation: 1, storedWidthPx: 480, storedHeightPx: 160 });
      expect(frame.profile).toMatchObject({ kind: 'matrix', handling: 'profile-curves' });
    },
  );

  it('a profile by tables, of which this decoder makes nothing: taken as sRGB, and said so', async () => {
    const bytes = file('kf_orient1.heic');
    const { icc } = await sharp(bytes).metadata();
    if (icc === undefined) throw new Error('the file has no profile to be replaced');
    const tags = new Map([
      ['desc', descriptionTag('by table')],
      ['A2B0', Buffer.from('mft1 and what follows')],
    ]);
    const table = writeProfile({ deviceSpace: 'RGB ', connectionSpace: 'Lab ', tags });
    const padded = Buffer.concat([table, Buffer.alloc(icc.length - table.length)]);
    padded.writeUInt32BE(padded.length, 0);
    padded.copy(bytes, bytes.indexOf(icc));
    const { profile, codeToLinear } = await decodeBytes(bytes);
    expect(profile).toMatchObject({ kind: 'table', handling: 'taken-as-srgb', description: 'by table' });
    expect(profile.because).toMatch(/"by table" could not be read as curves .*, so codes are taken as sRGB/);
    // 118 / 255 is 18 % by the sRGB curve (IEC 61966-2-1).
    expect(codeToLinear[0]?.[118]).toBeCloseTo(0.181, 3);
  });

  it('both stand the same way up: what Exif says is not applied a second time', async () => {
    const [one, six] = [await decodeBytes(file('kf_orient1.heic')), await decodeBytes(file('kf_orient6.heic'))];
    const small = async ({ data }: { data: Uint8Array | Uint16Array }): Promise<Buffer> =>
      sharp(data, { raw: { width: 480, height: 160, channels: 3 } })
        .resize(12, 4)
        .raw()
        .toBuffer();
    const [a, b] = [await small(one), await small(six)];
    const worst = Math.max(...a.map((code, index) => Math.abs(code - (b[index] ?? 0))));
    expect(worst).toBeLessThan(16);
  });

  it.each([0.2, 0.5, 0.9, 0.999])('cut at %f of its length it is refused as truncated', async (share) => {
    const bytes = file('kf_orient1.heic');
    const cut = bytes.subarray(0, Math.floor(bytes.length * share));
    await expect(decodeBytes(cut)).rejects.toMatchObject({ code: 'frame-truncated' });
  });

  it('more pixels than allowed are refused before decoding', async () => {
    await expect(decodeBytes(file('kf_orient1.heic'), 1000)).rejects.toMatchObject({ code: 'frame-too-many-pixels' });
  });

  it.each([
    'clusterfuzz-testcase-minimized-file-fuzzer-5671864958976000.heic',
    'clusterfuzz-testcase-minimized-file-fuzzer-5718632116518912.heic',
    'clusterfuzz-testcase-minimized-file-fuzzer-5724458239655936.heic',
    'crash-20ca2625096a205937b809a7841e7f019f0b2dc6.heic',
    'github_15.heic',
    'github_47.heic',
    'github_49.heic',
  ])('%s, made to do harm, is refused', async (name) => {
    await expect(decodeBytes(file(name))).rejects.toBeInstanceOf(StopledgerError);
  });

  it('a whole file decodes after a hostile one: the decoder is not spoiled', async () => {
    await decodeBytes(file('crash-20ca2625096a205937b809a7841e7f019f0b2dc6.heic')).catch(() => undefined);
    assertWellFormed(await decodeBytes(file('colors-no-alpha.heic')));
  });
});
