import type { Noise } from '../../src/contracts/noise.js';
import { levelStopsFromLinear } from '../../src/photometry/stops.js';
import type { DecodedFrame } from '../decode/decoded-frame.js';

/** Side of a part. Smaller ones find more flat places, larger ones read each more surely. */
const PART_PX = 12;
/** Parts looked at, spread evenly over the frame; enough for every level, and cheap. */
const MOST_PARTS = 2400;
/** Texture only adds: of all parts of one level, the noise is where the quieter quarter ends. */
const QUIET_QUANTILE = 0.25;
/** Fewer parts of one level tell nothing. */
const LEAST_PARTS = 8;
/** Darkest and brightest level that is read. */
const LEVELS = { from: -8, to: 2 } as const;

/**
 * Noise by level: in small parts all over the frame, the mean absolute response of a mask that is blind to flat
 * ground and to even slopes, as a standard deviation. J. Immerkaer, "Fast noise variance estimation", Computer Vision
 * and Image Understanding 64(2), 1996 (from memory): sigma = sqrt(pi / 2) / 6 x mean |I * N|, N = [1 -2 1; -2 4 -2; 1 -2 1].
 * Parts with a pixel at either end of the scale are left out: noise is cut off there.
 *
 * @param toScene file-linear -> scene-linear
 */
export function noiseOf(frame: DecodedFrame, toScene: (fileLinear: number) => number): Noise {
  const { storedWidthPx: w, storedHeightPx: h } = frame;
  const across = Math.floor(w / PART_PX);
  const down = Math.floor(h / PART_PX);
  const every = Math.max(1, Math.ceil((across * down) / MOST_PARTS));
  const readPart = partReader(frame, toScene);
  const byLevel = new Map<number, number[]>();
  const part = new Float64Array(PART_PX * PART_PX);
  for (let k = 0; k < across * down; k += every) {
    const left = (k % across) * PART_PX;
    const top = Math.floor(k / across) * PART_PX;
    const mean = readPart(part, left, top);
    const level = mean === null ? null : levelStopsFromLinear(mean);
    if (mean === null || level === null || level < LEVELS.from || level >= LEVELS.to) continue;
    const bin = Math.floor(level);
    const shares = byLevel.get(bin) ?? [];
    shares.push(sigmaOf(part) / mean);
    byLevel.set(bin, shares);
  }
  return {
    byLevel: [...byLevel]
      .filter(([, shares]) => shares.length >= LEAST_PARTS)
      .sort(([a], [b]) => a - b)
      .map(([fromStops, shares]) => {
        shares.sort((a, b) => a - b);
        const noiseShare = Math.min(1, shares[Math.floor(QUIET_QUANTILE * shares.length)]!);
        return { fromStops, toStops: fromStops + 1, noiseShare, parts: shares.length };
      }),
  };
}

/** Fills `part` with the luminances of a part of the frame and returns their mean; null when a pixel is at an end of the scale. */
type PartReader = (part: Float64Array, left: number, top: number) => number | null;

function sigmaOf(part: Float64Array): number {
  let sum = 0;
  for (let y = 1; y < PART_PX - 1; y++) {
    for (let i = y * PART_PX + 1, end = (y + 1) * PART_PX - 1; i < end; i++) {
      const above = i - PART_PX;
      const below = i + PART_PX;
      const corners = part[above - 1]! + part[above + 1]! + part[below - 1]! + part[below + 1]!;
      const sides = part[i - 1]! + part[i + 1]! + part[above]! + part[below]!;
      sum += Math.abs(corners - 2 * sides + 4 * part[i]!);
    }
  }
  return (Math.sqrt(Math.PI / 2) / 6) * (sum / (PART_PX - 2) ** 2);
}

function partReader(frame: DecodedFrame, toScene: (fileLinear: number) => number): PartReader {
  const { data, channels, storedWidthPx: w, codeToLinear, clipFromCode, maxCode } = frame;
  const [, , , wr, wg, wb] = frame.rgbToXyz;
  const channel = (c: number): number => Math.min(c, codeToLinear.length - 1);
  // Filled as codes come: a 16-bit file has more codes than are met here.
  const tables = codeToLinear.map(() => new Float32Array(maxCode + 1).fill(NaN));
  const [tableR, tableG, tableB] = [0, 1, 2].map((c) => tables[channel(c)]!) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  const fill = (c: number, code: number): number =>
    (tables[channel(c)]![code] = toScene(codeToLinear[channel(c)]![code]!));
  const topOf = (c: number): number => clipFromCode[Math.min(c, clipFromCode.length - 1)] ?? maxCode;
  const [topR, topG, topB] = [topOf(0), topOf(1), topOf(2)] as const;
  const [green, blue] = channels === 3 ? ([1, 2] as const) : ([0, 0] as const);
  return (part, left, top) => {
    let sum = 0;
    for (let y = 0, to = 0; y < PART_PX; y++) {
      let i = ((top + y) * w + left) * channels;
      for (let x = 0; x < PART_PX; x++, to++, i += channels) {
        const r = data[i]!;
        const g = data[i + green]!;
        const b = data[i + blue]!;
        if (r === 0 || g === 0 || b === 0 || r >= topR || g >= topG || b >= topB) return null;
        let lightR = tableR[r]!;
        let lightG = tableG[g]!;
        let lightB = tableB[b]!;
        if (Number.isNaN(lightR)) lightR = fill(0, r);
        if (Number.isNaN(lightG)) lightG = fill(1, g);
        if (Number.isNaN(lightB)) lightB = fill(2, b);
        const value = wr * lightR + wg * lightG + wb * lightB;
        part[to] = value;
        sum += value;
      }
    }
    return sum / part.length;
  };
}
