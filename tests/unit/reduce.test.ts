import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';
import { lightKey } from '../../worker/measure/light-histogram.js';
import { reduceFrame } from '../../worker/measure/reduce.js';
import { toneOf } from '../../worker/measure/tone.js';
import { SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { srgbCodeTable } from '../../src/photometry/srgb.js';
import { Tone } from '../../src/contracts/tone.js';
import { WASM_BASE64 } from '../../worker/kernels/block-row.wasm.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';
import { reduceFramePlainly } from '../support/reduce-reference.js';

function decoded(
  widthPx: number,
  heightPx: number,
  pixel: (x: number, y: number) => readonly [number, number, number],
  maxCode: 255 | 65535 = 255,
): DecodedFrame {
  const data = maxCode === 255 ? new Uint8Array(widthPx * heightPx * 3) : new Uint16Array(widthPx * heightPx * 3);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) data.set(pixel(x, y), (y * widthPx + x) * 3);
  }
  const table = srgbCodeTable(maxCode);
  return {
    format: 'png',
    encoding: 'rendered',
    storedWidthPx: widthPx,
    storedHeightPx: heightPx,
    orientation: 1,
    sourceBitDepth: maxCode === 255 ? 8 : 16,
    sourceChannels: 3,
    data,
    channels: 3,
    maxCode,
    codeToLinear: [table, table, table],
    rgbToXyz: rgbToXyzMatrix(SRGB),
    clipFromCode: [254, 254, 254].map((c) => (c * maxCode) / 255),
    profile: { description: null, kind: 'none', handling: 'taken-as-srgb', because: 'test' },
    notes: [],
  };
}

const straight = (y: number) => y;

describe('levels of a flat frame', () => {
  // Codes of grey in stops re 18 %, from the sRGB formula (IEC 61966-2-1 as in WCAG "relative luminance"):
  // 17.04 27.45 41.34 59.87 84.62 117.65 161.73 220.59 are -5 -4 -3 -2 -1 0 +1 +2; one code is at most 0.11 stop at 17.
  it.each([
    [17, -5, 0.01],
    [27, -4, 0.04],
    [41, -3, 0.03],
    [60, -2, 0.01],
    [85, -1, 0.02],
    [118, 0, 0.012],
    [162, 1, 0.006],
    [221, 2, 0.008],
  ])('8-bit code %i reads %f stops', (code, stops, tolerance) => {
    const tone = toneOf(
      reduceFrame(
        decoded(40, 30, () => [code, code, code]),
        straight,
      ),
      straight,
    );
    expect(Math.abs(tone.meanLevelStops! - stops)).toBeLessThan(tolerance);
    expect(Math.abs(tone.logAverageLevelStops - stops)).toBeLessThan(tolerance + 0.003);
    expect(Math.abs(tone.percentilesStops.p50! - stops)).toBeLessThan(tolerance + 0.003);
    expect(Tone.parse(tone)).toEqual(tone);
  });

  it('reads 16 bits to 0.005 stop', () => {
    // sRGB encoded 18 % = 0.461356129500442 (colour-science test value).
    const code = Math.round(0.461356129500442 * 65535);
    const tone = toneOf(
      reduceFrame(
        decoded(8, 8, () => [code, code, code], 65535),
        straight,
      ),
      straight,
    );
    expect(Math.abs(tone.meanLevelStops!)).toBeLessThan(0.005);
  });
});

describe('shares and counts', () => {
  it('counts channels at both ends exactly, and every pixel once', () => {
    const frame = decoded(100, 10, (x) =>
      x < 10 ? [255, 100, 100] : x < 15 ? [255, 255, 255] : x < 40 ? [0, 0, 0] : [0, 90, 90],
    );
    const r = reduceFrame(frame, straight);
    expect(r.top).toEqual({ any: 150, red: 150, green: 50, blue: 50, all: 50 });
    expect(r.bottom).toEqual({ any: 850, red: 850, green: 250, blue: 250, all: 250 });
    const tone = toneOf(r, straight);
    const { counts, below, above } = tone.stopsHistogram;
    expect(counts.reduce((a, b) => a + b, below + above)).toBe(1000);
    expect(tone.wholeStops.reduce((a, s) => a + s.share, 0)).toBeCloseTo(1, 12);
    for (const channel of Object.values(tone.code8Histograms)) expect(channel.reduce((a, b) => a + b, 0)).toBe(1000);
    expect(tone.code8Histograms.luminance[255]).toBe(50);
  });

  it('averages blocks in linear light, not in codes', () => {
    const frame = decoded(2048, 2, (x) => (x % 2 === 0 ? [255, 255, 255] : [0, 0, 0]));
    const r = reduceFrame(frame, straight);
    expect(r.blockPx).toBe(2);
    expect(r.blocksWide).toBe(1024);
    for (const v of r.blockRgb) expect(v).toBeCloseTo(0.5, 6);
    for (const v of r.blockTopShare) expect(v).toBe(0.5);
  });

  it('keeps edge blocks that are not whole', () => {
    const frame = decoded(2051, 3, () => [118, 118, 118]);
    const r = reduceFrame(frame, straight);
    expect([r.blocksWide, r.blocksHigh]).toEqual([1026, 2]);
    for (const v of r.blockRgb) expect(v).toBeCloseTo(0.1812, 4);
  });

  it('applies the tone response before averaging', () => {
    const frame = decoded(2048, 2, (x) => (x % 2 === 0 ? [255, 255, 255] : [0, 0, 0]));
    const r = reduceFrame(frame, (y) => y * y * 0.5);
    for (const v of r.blockRgb) expect(v).toBeCloseTo(0.25, 6);
  });
});

it('a doubling of linear light is one stop', () => {
  const one = toneOf(
    reduceFrame(
      decoded(4, 4, () => [6000, 5000, 4000], 65535),
      straight,
    ),
    straight,
  );
  const two = toneOf(
    reduceFrame(
      decoded(4, 4, () => [6000, 5000, 4000], 65535),
      (y) => 2 * y,
    ),
    straight,
  );
  expect(two.meanLevelStops! - one.meanLevelStops!).toBeCloseTo(1, 6);
});

it('loses no pixel to a camera matrix that weighs blue negatively', () => {
  const frame = { ...decoded(4, 4, () => [0, 0, 200]), rgbToXyz: [0.7, 0.2, 0.1, 0.4, 0.85, -0.25, 0, 0, 1] as const };
  const tone = toneOf(reduceFrame(frame, straight), straight);
  expect(tone.stopsHistogram.below).toBe(16);
});

describe('the pass in WebAssembly', () => {
  it('is what its source compiles to', () => {
    const wasm = compileKernel(KERNELS[0].source);
    expect(Buffer.from(wasm).toString('base64')).toBe(WASM_BASE64);
  });

  // Counts are the same; sums of light differ by the rounding of 32-bit floats within one row of one block, and a
  // luminance on the edge of a bin may fall to its neighbour.
  it('gives what a plain loop in doubles gives, whatever the size, depth, channels and codes', () => {
    fc.assert(
      fc.property(
        fc.record({
          w: fc.oneof(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 1020, max: 2600 })),
          h: fc.integer({ min: 1, max: 20 }),
          wide: fc.boolean(),
          grey: fc.boolean(),
          seed: fc.nat(),
          clipFromCode8: fc.tuple(...[0, 1, 2].map(() => fc.integer({ min: 200, max: 255 }))),
          blue: fc.double({ min: -0.3, max: 0.3, noNaN: true }),
          scene: fc.boolean(),
        }),
        ({ w, h, wide, grey, seed, clipFromCode8, blue, scene }) => {
          const maxCode = wide ? 65535 : 255;
          let state = seed;
          // Ends are as likely as all between: clipping is what must not be missed.
          const code = () => {
            state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
            const share = state / 2 ** 32;
            return Math.round(maxCode * Math.min(1, Math.max(0, 1.4 * share - 0.2)));
          };
          const frame: DecodedFrame = {
            ...decoded(w, h, () => [code(), code(), code()], maxCode),
            encoding: scene ? 'scene' : 'rendered',
            clipFromCode: clipFromCode8.map((c) => (c * maxCode) / 255),
            rgbToXyz: [0.7, 0.2, 0.1, 0.3, 0.7 - blue, blue, 0, 0, 1],
          };
          if (grey) {
            frame.channels = 1;
            frame.data = frame.data.slice(0, w * h);
            frame.codeToLinear = frame.codeToLinear.slice(0, 1);
            frame.clipFromCode = frame.clipFromCode.slice(0, 1);
          }
          const toScene = (y: number) => y ** 1.4 * 1.1;
          const { lightKeys, blockRgb, ...counts } = reduceFrame(frame, toScene);
          const { lightKeys: plainKeys, blockRgb: plainRgb, ...plainCounts } = reduceFramePlainly(frame, toScene);
          expect(counts).toEqual(plainCounts);
          const off = blockRgb.findIndex((v, i) => !(Math.abs(v - plainRgb[i]!) <= 1e-6 * plainRgb[i]!));
          expect(off).toBe(-1);
          const total = (counts: Uint32Array) => counts.reduce((sum, n) => sum + n, 0);
          expect(total(lightKeys)).toBe(w * h);
          // From the brightest down to where channels that cancel out leave little but rounding.
          let ahead = 0;
          let moved = 0;
          for (let key = plainKeys.length - 1; key >= lightKey(1e-3); key--) {
            ahead += lightKeys[key]! - plainKeys[key]!;
            moved += Math.abs(ahead);
          }
          expect(moved).toBeLessThanOrEqual(1 + 0.001 * w * h);
        },
      ),
      { numRuns: 60, seed: 20 },
    );
  });

  it('says so where a code would have to clip beyond the last', () => {
    const frame = { ...decoded(4, 4, () => [1, 2, 3]), clipFromCode: [255, 256, 255] };
    expect(() => reduceFrame(frame, straight)).toThrow('codes end at 255');
  });
});
