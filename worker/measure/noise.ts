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
  const light = new LightOfCodes(frame, toScene);
  const byLevel = new Map<number, number[]>();
  const part = new Float64Array(PART_PX * PART_PX);
  for (let k = 0; k < across * down; k += every) {
    const left = (k % across) * PART_PX;
    const top = Math.floor(k / across) * PART_PX;
    const mean = readPart(part, frame, light, left, top);
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
        const ascending = Float64Array.from(shares).sort();
        const noiseShare = Math.min(1, ascending[Math.floor(QUIET_QUANTILE * shares.length)]!);
        return { fromStops, toStops: fromStops + 1, noiseShare, parts: shares.length };
      }),
  };
}

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

/** What turns a frame's codes into luminance: per channel of a pixel its place, its table and the code where it is full. */
class LightOfCodes {
  readonly places: Three<number>;
  /** Scene-linear light of each code times the channel's share of luminance; NaN where not learned yet. */
  readonly tables: Three<Float64Array>;
  readonly tops: Three<number>;
  private readonly weights: Three<number>;
  private readonly fileLinear: Three<Float32Array>;

  constructor(
    { codeToLinear, clipFromCode, maxCode, channels, rgbToXyz }: DecodedFrame,
    private readonly toScene: (fileLinear: number) => number,
  ) {
    const three = <T>(of: (c: number) => T): Three<T> => [of(0), of(1), of(2)];
    this.places = channels === 3 ? [0, 1, 2] : [0, 0, 0];
    this.tables = three(() => new Float64Array(maxCode + 1).fill(NaN));
    this.tops = three((c) => clipFromCode[Math.min(c, clipFromCode.length - 1)] ?? maxCode);
    this.weights = [rgbToXyz[3], rgbToXyz[4], rgbToXyz[5]];
    this.fileLinear = three((c) => codeToLinear[Math.min(c, codeToLinear.length - 1)]!);
    // A 16-bit file has more codes than are met here: they are learned as they come.
    for (let code = 0; maxCode <= 255 && code <= maxCode; code++)
      for (const c of [0, 1, 2] as const) this.learn(c, code);
  }

  /** Fills in a channel's light of a code. */
  learn(c: 0 | 1 | 2, code: number): number {
    return (this.tables[c][code] = this.weights[c] * Math.fround(this.toScene(this.fileLinear[c][code]!)));
  }
}

type Three<T> = readonly [T, T, T];

/** Fills `part` with the luminances of a part of the frame and returns their mean; null when a pixel is at an end of the scale. */
function readPart(
  part: Float64Array,
  { data, channels: stride, storedWidthPx: w }: DecodedFrame,
  light: LightOfCodes,
  left: number,
  top: number,
): number | null {
  const [tableR, tableG, tableB] = light.tables;
  const [topR, topG, topB] = light.tops;
  const [, green, blue] = light.places;
  // Rows lie far apart in memory: touched one after another, they come all at once.
  for (let y = 0, i = (top * w + left) * stride; y < PART_PX; y++, i += w * stride) {
    const r = data[i]!;
    if (r === 0 || r >= topR) return null;
  }
  let sum = 0;
  for (let y = 0, to = 0; y < PART_PX; y++) {
    let i = ((top + y) * w + left) * stride;
    for (let x = 0; x < PART_PX; x++, to++, i += stride) {
      const r = data[i]!;
      const g = data[i + green]!;
      const b = data[i + blue]!;
      if (r === 0 || g === 0 || b === 0 || r >= topR || g >= topG || b >= topB) return null;
      let value = tableR[r]! + tableG[g]! + tableB[b]!;
      if (value !== value) value = light.learn(0, r) + light.learn(1, g) + light.learn(2, b);
      part[to] = value;
      sum += value;
    }
  }
  return sum / part.length;
}
