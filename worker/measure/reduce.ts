import type { DecodedFrame } from '../decode/decoded-frame.js';
import { LIGHT_KEYS } from './light-histogram.js';

/** Long edge that the block size aims at: blocks are the largest whole number of pixels that keeps at least this many. */
const WORKING_LONG_EDGE_PX = 1024;
/** Codes of an 8-bit file at or under this count as black; wider files in proportion. */
export const BLACK_TO_CODE8 = 1;

/** What one pass over all source pixels leaves: everything later comes from here. Stored orientation. */
export interface Reduction {
  pixels: number;
  /** Counts by `lightKey` of scene luminance. */
  lightKeys: Uint32Array;
  codes: { red: Uint32Array; green: Uint32Array; blue: Uint32Array };
  /** Counts by floor(65535 x file-linear luminance). */
  fileLuminance: Uint32Array;
  top: ChannelCounts;
  bottom: ChannelCounts;
  blockPx: number;
  blocksWide: number;
  blocksHigh: number;
  /** blocksHigh x blocksWide x 3: mean scene-linear RGB. */
  blockRgb: Float32Array;
  /** blocksHigh x blocksWide: share of pixels with any channel at the top / with all channels at the bottom. */
  blockTopShare: Float32Array;
  blockBottomShare: Float32Array;
}

export interface ChannelCounts {
  any: number;
  red: number;
  green: number;
  blue: number;
  all: number;
}

export function blockSizePx(longEdgePx: number): number {
  return Math.max(1, Math.floor(longEdgePx / WORKING_LONG_EDGE_PX));
}

/**
 * Reads every pixel once.
 *
 * @param frame decoded pixels, 8- or 16-bit, 1 or 3 channels.
 * @param toScene file-linear -> scene-linear, applied per channel through tables.
 */
export function reduceFrame(frame: DecodedFrame, toScene: (fileLinear: number) => number): Reduction {
  const { data, channels, storedWidthPx: w, storedHeightPx: h, maxCode } = frame;
  const blockPx = blockSizePx(Math.max(w, h));
  const blocksWide = Math.ceil(w / blockPx);
  const blocksHigh = Math.ceil(h / blockPx);
  const tables = sceneTables(frame, toScene);
  const [sceneR, sceneG, sceneB] = tables.scene;
  const [yR, yG, yB] = tables.sceneY;
  const [fR, fG, fB] = tables.fileY;
  const [topR, topG, topB] = topCodes(frame);
  const bottom = (BLACK_TO_CODE8 * maxCode) / 255;
  const toCode8Shift = maxCode > 255 ? 8 : 0;

  const lightKeys = new Uint32Array(LIGHT_KEYS);
  const red = new Uint32Array(256);
  const green = new Uint32Array(256);
  const blue = new Uint32Array(256);
  const fileLuminance = new Uint32Array(65536);
  const top: ChannelCounts = { any: 0, red: 0, green: 0, blue: 0, all: 0 };
  const bot: ChannelCounts = { any: 0, red: 0, green: 0, blue: 0, all: 0 };
  const blockRgb = new Float32Array(blocksWide * blocksHigh * 3);
  const blockTopShare = new Float32Array(blocksWide * blocksHigh);
  const blockBottomShare = new Float32Array(blocksWide * blocksHigh);

  // One row of blocks is gathered in doubles, then divided out.
  const sumR = new Float64Array(blocksWide);
  const sumG = new Float64Array(blocksWide);
  const sumB = new Float64Array(blocksWide);
  const topCount = new Uint32Array(blocksWide);
  const bottomCount = new Uint32Array(blocksWide);
  const oneFloat = new Float32Array(1);
  const itsBits = new Uint32Array(oneFloat.buffer);

  for (let by = 0; by < blocksHigh; by++) {
    sumR.fill(0);
    sumG.fill(0);
    sumB.fill(0);
    topCount.fill(0);
    bottomCount.fill(0);
    const yEnd = Math.min(h, (by + 1) * blockPx);
    for (let y = by * blockPx; y < yEnd; y++) {
      let i = y * w * channels;
      for (let bx = 0; bx < blocksWide; bx++) {
        const xEnd = Math.min(w, (bx + 1) * blockPx);
        let accR = 0;
        let accG = 0;
        let accB = 0;
        for (let x = bx * blockPx; x < xEnd; x++) {
          const r = data[i]!;
          const g = channels === 3 ? data[i + 1]! : r;
          const b = channels === 3 ? data[i + 2]! : r;
          i += channels;
          accR += sceneR[r]!;
          accG += sceneG[g]!;
          accB += sceneB[b]!;
          oneFloat[0] = yR[r]! + yG[g]! + yB[b]!;
          lightKeys[itsBits[0]! >>> 15]!++;
          fileLuminance[(fR[r]! + fG[g]! + fB[b]!) | 0]!++;
          red[r >> toCode8Shift]!++;
          green[g >> toCode8Shift]!++;
          blue[b >> toCode8Shift]!++;
          if (r >= topR || g >= topG || b >= topB) {
            topCount[bx]!++;
            top.any++;
            if (r >= topR) top.red++;
            if (g >= topG) top.green++;
            if (b >= topB) top.blue++;
            if (r >= topR && g >= topG && b >= topB) top.all++;
          }
          if (r <= bottom || g <= bottom || b <= bottom) {
            bot.any++;
            if (r <= bottom) bot.red++;
            if (g <= bottom) bot.green++;
            if (b <= bottom) bot.blue++;
            if (r <= bottom && g <= bottom && b <= bottom) {
              bot.all++;
              bottomCount[bx]!++;
            }
          }
        }
        sumR[bx]! += accR;
        sumG[bx]! += accG;
        sumB[bx]! += accB;
      }
    }
    const rows = yEnd - by * blockPx;
    for (let bx = 0; bx < blocksWide; bx++) {
      const n = rows * (Math.min(w, (bx + 1) * blockPx) - bx * blockPx);
      const o = by * blocksWide + bx;
      blockRgb[o * 3] = sumR[bx]! / n;
      blockRgb[o * 3 + 1] = sumG[bx]! / n;
      blockRgb[o * 3 + 2] = sumB[bx]! / n;
      blockTopShare[o] = topCount[bx]! / n;
      blockBottomShare[o] = bottomCount[bx]! / n;
    }
  }
  return {
    pixels: w * h,
    lightKeys,
    codes: { red, green, blue },
    fileLuminance,
    top,
    bottom: bot,
    blockPx,
    blocksWide,
    blocksHigh,
    blockRgb,
    blockTopShare,
    blockBottomShare,
  };
}

type Three<T> = readonly [T, T, T];

function topCodes(frame: DecodedFrame): Three<number> {
  const of = (c: number) => frame.clipFromCode[Math.min(c, frame.clipFromCode.length - 1)] ?? frame.maxCode;
  return [of(0), of(1), of(2)];
}

/** Code tables per channel: scene-linear, its share of scene luminance, and its share of file luminance x 65535. */
function sceneTables(frame: DecodedFrame, toScene: (fileLinear: number) => number) {
  const row = frame.rgbToXyz.slice(3, 6);
  const rowSum = row[0]! + row[1]! + row[2]!;
  const build = (c: number) => {
    const linear = frame.codeToLinear[Math.min(c, frame.codeToLinear.length - 1)]!;
    const weight = row[c]!;
    const scene = new Float32Array(linear.length);
    const sceneY = new Float32Array(linear.length);
    const fileY = new Float32Array(linear.length);
    // Beyond white (raw) the file-luminance histogram saturates at its last bin.
    const fullScale = (65535 * weight) / rowSum;
    for (let code = 0; code < linear.length; code++) {
      const file = linear[code]!;
      scene[code] = toScene(file);
      sceneY[code] = scene[code]! * weight;
      fileY[code] = fullScale * Math.min(1, Math.max(0, file));
    }
    return { scene, sceneY, fileY };
  };
  const [r, g, b] = [build(0), build(1), build(2)];
  return {
    scene: [r.scene, g.scene, b.scene] as Three<Float32Array>,
    sceneY: [r.sceneY, g.sceneY, b.sceneY] as Three<Float32Array>,
    fileY: [r.fileY, g.fileY, b.fileY] as Three<Float32Array>,
  };
}
