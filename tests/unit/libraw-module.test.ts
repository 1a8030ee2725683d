import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { withLibRaw, type Attempt } from '../../worker/decode/libraw-module.js';
import { assertWellFormed, decodeBytes } from '../support/decoded.js';
import { mutate } from '../support/mutate.js';
import { seedDng } from '../support/seed-images.js';

const CRW = fileURLToPath(new URL('../../../shared/files/exiftool-t/CanonRaw.crw', import.meta.url));

const outOfBounds = (): never => {
  throw new WebAssembly.RuntimeError('memory access out of bounds');
};
const refuseGarbage = () =>
  withLibRaw((libraw, attempt: Attempt) =>
    attempt('no raw file', 'frame-format-unsupported', () => libraw.open(Buffer.alloc(64, 7), {})),
  );

describe('one module of the raw decoder for many files', () => {
  it('what LibRaw refuses carries the code and sentence of the step', async () => {
    await expect(refuseGarbage()).rejects.toMatchObject({ code: 'frame-format-unsupported', message: 'no raw file' });
  });

  it('a fault in a step is told, and the next file decodes', async () => {
    await expect(withLibRaw((_, attempt) => attempt('step', 'internal', outOfBounds))).rejects.toMatchObject({
      code: 'frame-corrupt',
      message: 'step: memory access out of bounds',
    });
    assertWellFormed(await decodeBytes(seedDng()));
  });

  it('so is what is no error at all, as the machine throws when it ends itself', async () => {
    const unwind = (): never => {
      // eslint-disable-next-line @typescript-eslint/only-throw-error
      throw 'unwind';
    };
    await expect(withLibRaw((_, attempt) => attempt('step', 'internal', unwind))).rejects.toMatchObject({
      code: 'frame-corrupt',
      message: 'step: unwind',
    });
    assertWellFormed(await decodeBytes(seedDng()));
  });

  it('a file that faults after another was refused is tried again in a new module, once', async () => {
    await refuseGarbage().catch(() => undefined);
    let tries = 0;
    const use = (_: unknown, attempt: Attempt) => {
      tries += 1;
      return attempt('step', 'internal', () => (tries === 1 ? outOfBounds() : 'read'));
    };
    await expect(withLibRaw(use)).resolves.toBe('read');
    await refuseGarbage().catch(() => undefined);
    tries = 0;
    await expect(
      withLibRaw((_, attempt) => {
        tries += 1;
        return attempt('step', 'internal', outOfBounds);
      }),
    ).rejects.toMatchObject({ code: 'frame-corrupt' });
    expect(tries).toBe(2);
  });

  it('what a second instance refuses leaves the first one as it was; what it reads is handed on', async () => {
    const bytes = seedDng();
    const read = await withLibRaw((libraw, _, beside) => {
      libraw.open(bytes, {});
      const refused = beside('no raw file', (second) => second.open(Buffer.alloc(64, 7), {}));
      const width = beside('a raw file', (second) => {
        second.open(bytes, {});
        return second.metadata(false).width;
      });
      return { refused, width, first: libraw.metadata(false).width };
    });
    expect(read).toEqual({ refused: null, width: read.first, first: expect.any(Number) as number });
  });

  it('a fault in a second instance ends the use of the first, and the next file decodes', async () => {
    let ended = true;
    const use = withLibRaw((_, __, beside) => {
      beside('step', outOfBounds);
      ended = false;
    });
    await expect(use).rejects.toMatchObject({ code: 'frame-corrupt', message: 'step: memory access out of bounds' });
    expect(ended).toBe(true);
    assertWellFormed(await decodeBytes(seedDng()));
  });

  it('a file that cannot be freed is refused as corrupt', async () => {
    await expect(
      withLibRaw((libraw) => {
        libraw.delete();
        return 'seemed well';
      }),
    ).rejects.toMatchObject({ code: 'frame-corrupt' });
  });
});

it.skipIf(!existsSync(CRW))(
  '40 damaged CRW files: each refused with a code of its own, and a whole raw decodes after each (skipped where ../shared is absent)',
  async () => {
    const bytes = readFileSync(CRW);
    for (let seed = 1; seed <= 40; seed += 1) {
      const thrown: unknown = await decodeBytes(mutate(bytes, seed).bytes, 60_000_000).catch((error: unknown) => error);
      expect(thrown, `seed ${seed}`).toMatchObject({ code: expect.stringMatching(/^frame-/) as string });
      assertWellFormed(await decodeBytes(seedDng()));
    }
  },
);
