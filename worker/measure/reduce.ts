import type { DecodedFrame } from '../decode/decoded-frame.js';
import { FrameBuffers } from './frame-buffers.js';
import { BlockRows, type PixelTotals } from './block-rows.js';

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
export interface Reduction extends PixelTotals {
  pixels: number;
  blockPx: number;
  blocksWide: number;
  blocksHigh: number;
  /** blocksHigh x blocksWide x 3: mean scene-linear RGB. */
  blockRgb: Float32Array;
  /** blocksHigh x blocksWide: share of pixels with any channel at the top / with all channels at the bottom. */
  blockTopShare: Float32Array;
  blockBottomShare: Float32Array;
}

export function blockSizePx(longEdgePx: number): number {
  return Math.max(1, Math.floor(longEdgePx / WORKING_LONG_EDGE_PX));
}

/**
 * Reads every pixel once, a row of blocks at a time.
 *
 * @param frame decoded pixels, 8- or 16-bit, 1 or 3 channels.
 * @param toScene file-linear -> scene-linear, applied per channel through tables.
 * @param buffers where the planes are to lie
 */
export function reduceFrame(
  frame: DecodedFrame,
  toScene: (fileLinear: number) => number,
  buffers = new FrameBuffers(),
): Reduction {
  const { data, channels, storedWidthPx: w, storedHeightPx: h } = frame;
  const blockPx = blockSizePx(Math.max(w, h));
  const blocksWide = Math.ceil(w / blockPx);
  const blocksHigh = Math.ceil(h / blockPx);
  const blockRgb = buffers.floats('rgb', blocksWide * blocksHigh * 3);
  const blockTopShare = buffers.floats('top', blocksWide * blocksHigh);
  const blockBottomShare = buffers.floats('bottom', blocksWide * blocksHigh);
  const [, , , weightR, weightG, weightB] = frame.rgbToXyz;
  const rows = new BlockRows({
    widthPx: w,
    blockPx,
    maxCode: frame.maxCode,
    tables: perChannel(frame.codeToLinear, (table) => table.map(toScene)),
    weights: [weightR, weightG, weightB],
    topCodes: perChannel(frame.clipFromCode, Math.ceil),
    bottomCode: Math.floor(blackToCode(frame)),
  });
  for (let by = 0; by < blocksHigh; by++) {
    const from = by * blockPx;
    const to = Math.min(h, from + blockPx);
    const row = rows.add(data.subarray(from * w * channels, to * w * channels), channels, to - from);
    blockRgb.set(row.rgb, by * blocksWide * 3);
    blockTopShare.set(row.topShare, by * blocksWide);
    blockBottomShare.set(row.bottomShare, by * blocksWide);
  }
  return {
    pixels: w * h,
    ...rows.totals(),
    blockPx,
    blocksWide,
    blocksHigh,
    blockRgb,
    blockTopShare,
    blockBottomShare,
  };
}

type Three<T> = readonly [T, T, T];

/** One value stands for all channels where a frame has one only. */
function perChannel<T, U>(values: readonly T[], of: (value: T) => U): Three<U> {
  const at = (c: number) => of(values[Math.min(c, values.length - 1)]!);
  return [at(0), at(1), at(2)];
}
