import { createHash } from 'node:crypto';
import { Readable } from 'node:stream';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import type { FrameFiles, ReceivedFile } from '../../src/store/port.js';

/** A store of frame files under test, with how many files it holds altogether, half-received ones included. */
export interface InspectableFiles {
  files: FrameFiles;
  /** Opens the same place again, as after a restart. */
  reopen(): Promise<FrameFiles>;
  countFiles(): Promise<number>;
}

const SHOOT = 'c0ffee';
const sha256Of = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
const MEGABYTE = 1024 * 1024;

async function* pieces(...parts: (Uint8Array | Error)[]): AsyncGenerator<Uint8Array> {
  for (const part of parts) {
    await Promise.resolve();
    if (part instanceof Error) throw part;
    yield part;
  }
}

/** What every store of frame files must do, run on each of them. */
export function frameFilesContract(name: string, make: () => Promise<InspectableFiles>): void {
  describe(`frame files: ${name}`, () => {
    let place: InspectableFiles;
    let files: FrameFiles;
    const bytes = Buffer.from('the bytes of a frame');

    const keep = async (content: Uint8Array, shootId = SHOOT): Promise<ReceivedFile> => {
      const received = await files.receive(pieces(content), 100 * MEGABYTE);
      await files.keep(received, shootId);
      return received;
    };

    beforeEach(async () => {
      place = await make();
      files = place.files;
    });
    afterEach(() => undefined);

    it('receives, keeps and reads back, with the digest of what came', async () => {
      const received = await files.receive(pieces(bytes.subarray(0, 7), bytes.subarray(7)), MEGABYTE);
      expect(received).toMatchObject({ sha256: sha256Of(bytes), bytes: bytes.byteLength });
      await files.keep(received, SHOOT);
      expect(await files.read(SHOOT, received.sha256)).toEqual(bytes);
      expect(await (await place.reopen()).read(SHOOT, received.sha256)).toEqual(bytes);
    });

    it('carries files larger than its buffers', async () => {
      const large = Buffer.alloc(5 * MEGABYTE + 123, 'stopledger');
      const received = await files.receive(Readable.from([large.subarray(0, MEGABYTE), large.subarray(MEGABYTE)]), 10 * MEGABYTE); // prettier-ignore
      await files.keep(received, SHOOT);
      expect(received.bytes).toBe(large.byteLength);
      expect((await files.read(SHOOT, received.sha256)).equals(large)).toBe(true);
    });

    it('hands out the bytes as a stream with their number, and says when they are not there', async () => {
      const { sha256 } = await keep(bytes);
      const { bytes: count, stream } = await files.openRead(SHOOT, sha256);
      const chunks: Uint8Array[] = [];
      for await (const chunk of stream) chunks.push(chunk as Uint8Array);
      expect(Buffer.concat(chunks)).toEqual(bytes);
      expect(count).toBe(bytes.byteLength);
      await expect(files.openRead(SHOOT, 'e'.repeat(64))).rejects.toMatchObject({ code: 'frame-file-missing' });
      await expect(files.openRead('other', sha256)).rejects.toMatchObject({ code: 'frame-file-missing' });
    });

    it('keeps the order of chunks of any size', async () => {
      const whole = Buffer.from(Array.from({ length: 3 * MEGABYTE }, (_, i) => (i * 2654435761) >>> 24));
      const sizes = [0, ...new Array<number>(600).fill(1), 70_000, 0, MEGABYTE, 1, MEGABYTE + 70_000, 3];
      const chunks: Buffer[] = [];
      let from = 0;
      for (const size of sizes) chunks.push(whole.subarray(from, (from += size)));
      chunks.push(whole.subarray(from));
      const received = await files.receive(Readable.from(chunks), whole.byteLength);
      expect(received.bytes).toBe(whole.byteLength);
      await files.keep(received, SHOOT);
      expect((await files.read(SHOOT, received.sha256)).equals(whole)).toBe(true);
      expect(received.sha256).toBe(createHash('sha256').update(whole).digest('hex'));
    });

    it('refuses more than allowed, an empty file and one that ends early, and leaves nothing of them', async () => {
      await expect(files.receive(pieces(bytes), bytes.byteLength - 1)).rejects.toMatchObject({ code: 'frame-too-large' }); // prettier-ignore
      await expect(files.receive(pieces(), MEGABYTE)).rejects.toMatchObject({ code: 'frame-empty' });
      await expect(files.receive(pieces(bytes, new Error('cut')), MEGABYTE)).rejects.toMatchObject({
        code: 'upload-aborted',
      });
      expect(await place.countFiles()).toBe(0);
      await expect(files.receive(pieces(bytes), bytes.byteLength)).resolves.toMatchObject({ bytes: bytes.byteLength });
    });

    it('leaves the source open when it stops reading', async () => {
      const source = Readable.from([bytes, bytes, bytes]);
      const reading = source.iterator({ destroyOnReturn: false }) as AsyncIterable<Uint8Array>;
      await expect(files.receive(reading, 5)).rejects.toMatchObject({ code: 'frame-too-large' });
      expect(source.destroyed).toBe(false);
    });

    it('discards what is not kept', async () => {
      const received = await files.receive(pieces(bytes), MEGABYTE);
      await files.discard(received);
      await files.discard(received);
      expect(await place.countFiles()).toBe(0);
      await expect(files.keep(received, SHOOT)).rejects.toBeInstanceOf(StopledgerError);
    });

    it('keeps the same bytes twice as one file, and each shoot’s apart', async () => {
      const { sha256 } = await keep(bytes);
      await keep(bytes);
      await keep(bytes, 'other');
      await files.deleteShoot('other');
      expect(await files.read(SHOOT, sha256)).toEqual(bytes);
    });

    it('receives many files at once without mixing them', async () => {
      const contents = Array.from({ length: 30 }, (_, index) => Buffer.alloc(10_000 + index, index + 1));
      const kept = await Promise.all(contents.map((content) => keep(content)));
      for (const [index, { sha256 }] of kept.entries()) {
        expect((await files.read(SHOOT, sha256)).equals(contents[index] ?? Buffer.of())).toBe(true);
      }
    });

    it('says so when a file is not there', async () => {
      await expect(files.read(SHOOT, 'd'.repeat(64))).rejects.toMatchObject({ code: 'frame-file-missing' });
    });

    it('keeps the pictures of a frame, whole and replaceable', async () => {
      const { sha256 } = await keep(bytes);
      expect(await files.getProduct(SHOOT, sha256, 'previewJpeg')).toBeNull();
      await files.putProducts(SHOOT, sha256, { previewJpeg: Buffer.from('p1'), regionsPng: Buffer.from('r1') });
      await files.putProducts(SHOOT, sha256, { previewJpeg: Buffer.from('p2'), regionsPng: Buffer.from('r2') });
      expect((await files.getProduct(SHOOT, sha256, 'previewJpeg'))?.toString()).toBe('p2');
      expect((await files.getProduct(SHOOT, sha256, 'regionsPng'))?.toString()).toBe('r2');
      expect(await files.read(SHOOT, sha256)).toEqual(bytes);
    });

    it('forgets a deleted shoot wholly', async () => {
      const { sha256 } = await keep(bytes);
      await files.putProducts(SHOOT, sha256, { previewJpeg: Buffer.from('p'), regionsPng: Buffer.from('r') });
      await files.deleteShoot(SHOOT);
      await files.deleteShoot(SHOOT);
      expect(await place.countFiles()).toBe(0);
      expect(await files.getProduct(SHOOT, sha256, 'previewJpeg')).toBeNull();
      await expect(files.read(SHOOT, sha256)).rejects.toMatchObject({ code: 'frame-file-missing' });
    });

    it('sweeps what a killed process left, and nothing else', async () => {
      const { sha256 } = await keep(bytes);
      await keep(bytes, 'gone');
      await files.receive(pieces(bytes), MEGABYTE);
      const again = await place.reopen();
      await again.sweep(async (shootId) => shootId === SHOOT, 0);
      expect(await again.read(SHOOT, sha256)).toEqual(bytes);
      expect(await place.countFiles()).toBe(1);
    });

    it('sweeps away nothing that another process may still be receiving', async () => {
      const received = await files.receive(pieces(bytes), MEGABYTE);
      await (await place.reopen()).sweep(async () => false, 60_000);
      await files.keep(received, SHOOT);
      expect(await files.read(SHOOT, received.sha256)).toEqual(bytes);
    });

    it('takes no address that is a path', async () => {
      const sha256 = sha256Of(bytes);
      for (const address of ['../x', 'a/b', '..', '.', '', 'a\0b']) {
        await expect(async () => files.read(address, sha256)).rejects.toBeInstanceOf(StopledgerError);
        await expect(async () => files.read(SHOOT, address)).rejects.toBeInstanceOf(StopledgerError);
        await expect(async () => files.deleteShoot(address)).rejects.toBeInstanceOf(StopledgerError);
      }
    });

    it('can be checked', async () => {
      await expect(files.check()).resolves.toBeUndefined();
      expect(await place.countFiles()).toBe(0);
    });
  });
}
