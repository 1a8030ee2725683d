import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { mosaicOf, writeDng } from '../support/dng-writer.js';
import { notForJson } from '../support/finite.js';
import { tiffWithProfile } from '../support/icc-writer.js';

async function expectForJson(bytes: Buffer, options: MeasuringOptions, what: string): Promise<void> {
  const { measurement } = await measureFrame(bytes, options);
  expect(notForJson(measurement), what).toEqual([]);
  expect(FrameMeasurement.parse(JSON.parse(JSON.stringify(measurement))), what).toEqual(measurement);
}

const OPTIONS = [MeasuringOptions.parse({}), MeasuringOptions.parse({ toneResponse: 'none', findPeople: false })];

const SIZES: [width: number, height: number][] = [
  [1, 1],
  [1, 5000],
  [5000, 1],
  [2, 3],
  [97, 61],
];

const FLATS: Record<string, [number, number, number]> = {
  black: [0, 0, 0],
  'one code above black': [1, 1, 1],
  white: [255, 255, 255],
  red: [255, 0, 0],
  green: [0, 255, 0],
  blue: [0, 0, 255],
  cyan: [0, 255, 255],
  magenta: [255, 0, 255],
};

const flat = (width: number, height: number, [r, g, b]: readonly [number, number, number]) =>
  sharp({ create: { width, height, channels: 3, background: { r, g, b } } });

describe('every measurement can be written as JSON: no number that is not finite', () => {
  it.each(Object.entries(FLATS))(
    '%s, in every size and both responses',
    async (name, colour) => {
      for (const [width, height] of SIZES)
        for (const options of OPTIONS)
          for (const format of ['png', 'jpeg'] as const)
            await expectForJson(
              await flat(width, height, colour)[format]().toBuffer(),
              options,
              `${name} ${width} x ${height} ${format}`,
            );
    },
    60_000,
  );

  it('grey of one channel, black and white', async () => {
    for (const code of [0, 255])
      for (const options of OPTIONS) {
        const pixels = Uint8Array.from({ length: 12 }, () => code);
        await expectForJson(tiffWithProfile(pixels, 4, 3, 1, null), options, `grey ${code}`);
      }
  });

  it('16-bit extremes, alone and side by side', async () => {
    const ends = [0, 1, 0x7fff, 0x8000, 0xfffe, 0xffff];
    for (const channels of [1, 3] as const) {
      for (const code of ends)
        await expectForJson(
          tiffWithProfile(new Uint16Array(6 * channels).fill(code), 3, 2, channels, null),
          OPTIONS[0]!,
          `${code}`,
        );
      const mixed = Uint16Array.from({ length: 36 * channels }, (_, i) => ends[(i * 5) % ends.length]!);
      for (const options of OPTIONS)
        await expectForJson(tiffWithProfile(mixed, 6, 6, channels, null), options, 'mixed');
    }
  });

  it('raw: all black, all full, one channel full', async () => {
    for (const cell of [
      [0, 0, 0],
      [1, 1, 1],
      [1.2, 0, 0],
      [0, 0, 1.2],
    ] as const) {
      const [widthPx, heightPx, blackLevel, whiteLevel] = [64, 48, 256, 16_000];
      const mosaic = mosaicOf(widthPx, heightPx, blackLevel, whiteLevel, () => cell);
      const dng = writeDng({ mosaic, widthPx, heightPx, blackLevel, whiteLevel, neutral: [0.5, 1, 0.7] });
      await expectForJson(dng, OPTIONS[0]!, `raw ${cell.join(' ')}`);
    }
  });

  it('any small picture of any codes, extremes more often than not', async () => {
    const code = fc.oneof(fc.constantFrom(0, 1, 254, 255), fc.nat(255));
    const picture = fc
      .tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 9 }))
      .chain(([width, height]) =>
        fc.tuple(
          fc.constant(width),
          fc.constant(height),
          fc.array(code, { minLength: width * height * 3, maxLength: width * height * 3 }),
          fc.boolean(),
        ),
      );
    await fc.assert(
      fc.asyncProperty(picture, async ([width, height, codes, wide]) => {
        const pixels = wide ? Uint16Array.from(codes, (c) => c * 257) : Uint8Array.from(codes);
        const options = MeasuringOptions.parse({ findPeople: false });
        await expectForJson(tiffWithProfile(pixels, width, height, 3, null), options, `${width} x ${height}`);
      }),
      { numRuns: 60, seed: 20_260_516 },
    );
  });

  it('the check itself sees what is not finite', () => {
    expect(notForJson({ a: [1, Number.NaN], b: { c: Number.NEGATIVE_INFINITY }, d: undefined })).toEqual([
      '$.a.1 is NaN',
      '$.b.c is -Infinity',
      '$.d is undefined',
    ]);
  });
});
