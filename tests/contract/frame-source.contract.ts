import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import type { FrameSource } from '../../src/queue/frame-source.js';

/** A source of frames under test, and the place behind it that holds them. */
export interface SourceUnderTest {
  source: FrameSource;
  /** Stores a frame as the service does. */
  keep(bytes: Uint8Array): Promise<{ shootId: string; sha256: string }>;
  /** Puts other bytes in a frame's place. */
  spoil(frame: { shootId: string; sha256: string }, bytes: Uint8Array): Promise<void>;
  /** False for one that hands out the file itself, which the measuring process checks. */
  copies: boolean;
}

/** What every source of frames for workers must do, run on each of them. */
export function frameSourceContract(name: string, make: () => Promise<SourceUnderTest>): void {
  describe(`frame source: ${name}`, () => {
    let place: SourceUnderTest;
    const bytes = Buffer.from('the bytes of a frame');

    beforeEach(async () => {
      place = await make();
    });

    it('gives a file of this machine with the bytes, until it is released', async () => {
      const { shootId, sha256 } = await place.keep(bytes);
      const frame = await place.source.fetch(shootId, sha256);
      expect(readFileSync(frame.path)).toEqual(bytes);
      await frame.release();
      await frame.release();
      expect(existsSync(frame.path)).toBe(!place.copies);
      const again = await place.source.fetch(shootId, sha256);
      expect(readFileSync(again.path)).toEqual(bytes);
      await again.release();
    });

    it('carries large frames, and many at once, the same ones too', async () => {
      const large = Array.from({ length: 3 }, (_, index) => Buffer.alloc(3_000_017, `frame ${index} `));
      const kept = await Promise.all(large.map((one) => place.keep(one)));
      const fetched = await Promise.all(
        [...kept, ...kept].map(({ shootId, sha256 }) => place.source.fetch(shootId, sha256)),
      );
      await fetched[0]?.release();
      fetched.slice(1).forEach(({ path }, index) => {
        const sha256 = createHash('sha256').update(readFileSync(path)).digest('hex');
        expect(sha256).toBe(kept[(index + 1) % 3]?.sha256);
      });
      await Promise.all(fetched.map((frame) => frame.release()));
    });

    it('says so when a frame is not there', async () => {
      const { shootId, sha256 } = await place.keep(bytes);
      const missing = async (shoot: string, digest: string) => {
        const frame = await place.source.fetch(shoot, digest);
        readFileSync(frame.path);
      };
      const code = place.copies ? { code: 'frame-file-missing', retryable: true } : { code: 'ENOENT' };
      await expect(missing(shootId, 'e'.repeat(64))).rejects.toMatchObject(code);
      await expect(missing('other', sha256)).rejects.toMatchObject(code);
    });

    it('refuses bytes that are not those asked for', async () => {
      const frame = await place.keep(bytes);
      if (!place.copies) return;
      for (const wrong of ['the bytes of another', 'the bytes of a frame, and more', 'the bytes']) {
        await place.spoil(frame, Buffer.from(wrong));
        await expect(place.source.fetch(frame.shootId, frame.sha256)).rejects.toMatchObject({
          code: 'digest-mismatch',
          message: expect.stringContaining(frame.sha256) as string,
        });
      }
    });
  });
}
