import type { DecodedFrame } from '../decode/decoded-frame.js';
import { KEY_SHIFT, LIGHT_KEYS } from './light-histogram.js';

/** Long edge that the block size aims at: blocks are the largest whole number of pixels that keeps at least this many. */
const WORKING_LONG_EDGE_PX = 1024;
/** Codes of an 8-bit file at or under this count as black; wider files in proportion. */
const BLACK_TO_CODE8 = 1;

/**
 * Codes at or under this count as black. Raw codes are proportional to light, where code 1 of 255 is still eight
 * stops under white: there only the black level itself counts.
 */
export function blackToCode(frame: Pick<DecodedFrame, 'encoding' | 'maxCode'>): number {
  return frame.encoding === 'scene' ? 0 : (BLACK_TO_CODE8 * frame.maxCode) / 255;
}

/** What one pass over all source pixels leaves: everything later comes from here. Stored orientation. */
export interface Reduction {
  pixels: number;
  /** Counts by `lightKey` of scene luminance. */
  lightKeys: Uint32Array;
  codes: { red: Uint32Array; green: Uint32Array; blue: Uint32Array };
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
  const [sceneR, sceneG, sceneB] = sceneTables(frame, toScene);
  const [, , , weightR, weightG, weightB] = frame.rgbToXyz;
  const [topR, topG, topB] = topCodes(frame);
  const bottom = blackToCode(frame);
  const toCode8Shift = maxCode > 255 ? 8 : 0;

  const lightKeys = new Uint32Array(LIGHT_KEYS);
  const red = new Uint32Array(256);
  const green = new Uint32Array(256);
  const blue = new Uint32Array(256);
  let [topAny, topRed, topGreen, topBlue, topAll] = [0, 0, 0, 0, 0];
  let [bottomAny, bottomRed, bottomGreen, bottomBlue, bottomAll] = [0, 0, 0, 0, 0];
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
          const lightR = sceneR[r]!;
          const lightG = sceneG[g]!;
          const lightB = sceneB[b]!;
          accR += lightR;
          accG += lightG;
          accB += lightB;
          const light = weightR * lightR + weightG * lightG + weightB * lightB;
          // A camera's matrix may weigh a channel negatively: light is never less than none.
          oneFloat[0] = light > 0 ? light : 0;
          lightKeys[itsBits[0]! >>> KEY_SHIFT]!++;
          red[r >> toCode8Shift]!++;
          green[g >> toCode8Shift]!++;
          blue[b >> toCode8Shift]!++;
          if (r >= topR || g >= topG || b >= topB) {
            topCount[bx]!++;
            topAny++;
            if (r >= topR) topRed++;
            if (g >= topG) topGreen++;
            if (b >= topB) topBlue++;
            if (r >= topR && g >= topG && b >= topB) topAll++;
          }
          if (r <= bottom || g <= bottom || b <= bottom) {
            bottomAny++;
            if (r <= bottom) bottomRed++;
            if (g <= bottom) bottomGreen++;
            if (b <= bottom) bottomBlue++;
            if (r <= bottom && g <= bottom && b <= bottom) {
              bottomAll++;
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
    top: { any: topAny, red: topRed, green: topGreen, blue: topBlue, all: topAll },
    bottom: { any: bottomAny, red: bottomRed, green: bottomGreen, blue: bottomBlue, all: bottomAll },
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

/** Per channel: code -> scene-linear value. */
function sceneTables(frame: DecodedFrame, toScene: (fileLinear: number) => number): Three<Float32Array> {
  const of = (c: number) => frame.codeToLinear[Math.min(c, frame.codeToLinear.length - 1)]!.map(toScene);
  return [of(0), of(1), of(2)];
}
