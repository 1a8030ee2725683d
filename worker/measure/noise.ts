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
  const light = lightReader(frame, toScene);
  const byLevel = new Map<number, number[]>();
  const part = new Float64Array(PART_PX * PART_PX);
  for (let k = 0; k < across * down; k += every) {
    const left = (k % across) * PART_PX;
    const top = Math.floor(k / across) * PART_PX;
    const mean = readPart(part, left, top, light);
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

/** Luminance of a pixel; null at either end of the scale. */
type LightReader = (x: number, y: number) => number | null;

/** Fills `part` with luminances and returns their mean; null when a pixel is at an end of the scale. */
function readPart(part: Float64Array, left: number, top: number, light: LightReader): number | null {
  let sum = 0;
  for (let y = 0; y < PART_PX; y++) {
    for (let x = 0; x < PART_PX; x++) {
      const value = light(left + x, top + y);
      if (value === null) return null;
      part[y * PART_PX + x] = value;
      sum += value;
    }
  }
  return sum / part.length;
}

function sigmaOf(part: Float64Array): number {
  const at = (x: number, y: number): number => part[y * PART_PX + x]!;
  let sum = 0;
  for (let y = 1; y < PART_PX - 1; y++) {
    for (let x = 1; x < PART_PX - 1; x++) {
      const corners = at(x - 1, y - 1) + at(x + 1, y - 1) + at(x - 1, y + 1) + at(x + 1, y + 1);
      const sides = at(x - 1, y) + at(x + 1, y) + at(x, y - 1) + at(x, y + 1);
      sum += Math.abs(corners - 2 * sides + 4 * at(x, y));
    }
  }
  return (Math.sqrt(Math.PI / 2) / 6) * (sum / (PART_PX - 2) ** 2);
}

function lightReader(frame: DecodedFrame, toScene: (fileLinear: number) => number): LightReader {
  const { data, channels, storedWidthPx: w, codeToLinear, clipFromCode, maxCode } = frame;
  const [, , , wr, wg, wb] = frame.rgbToXyz;
  // Filled as codes come: a 16-bit file has more codes than are met here.
  const tables = codeToLinear.map(() => new Float32Array(maxCode + 1).fill(NaN));
  const scene = (channel: number, code: number): number => {
    const c = Math.min(channel, tables.length - 1);
    const known = tables[c]![code]!;
    return Number.isNaN(known) ? (tables[c]![code] = toScene(codeToLinear[c]![code]!)) : known;
  };
  const top = (channel: number): number => clipFromCode[Math.min(channel, clipFromCode.length - 1)] ?? maxCode;
  const tops = [top(0), top(1), top(2)] as const;
  return (x, y) => {
    const i = (y * w + x) * channels;
    const r = data[i]!;
    const g = channels === 3 ? data[i + 1]! : r;
    const b = channels === 3 ? data[i + 2]! : r;
    if (r === 0 || g === 0 || b === 0 || r >= tops[0] || g >= tops[1] || b >= tops[2]) return null;
    return wr * scene(0, r) + wg * scene(1, g) + wb * scene(2, b);
  };
}
