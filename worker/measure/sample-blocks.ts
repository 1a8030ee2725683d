import type { DecodedFrame } from '../decode/decoded-frame.js';

const BLOCKS_ACROSS = 96;
/** Codes (of 255) at or beyond these are too near an end to be trusted: rendering and quantising pile up there. */
const LOW_CODE8 = 3;
const HIGH_CODE8 = 252;

export interface SampledBlocks {
  blocksWide: number;
  blocksHigh: number;
  blockLinear: Float32Array;
  blockSpread: Float32Array;
  blockClipped: Uint8Array;
}

/** Block means of file-linear values per channel on a grid of 96 across, stored orientation. */
export function sampleBlocks(frame: DecodedFrame): SampledBlocks {
  const { data, channels, storedWidthPx: w, storedHeightPx: h, maxCode } = frame;
  const block = Math.max(1, Math.floor(w / BLOCKS_ACROSS));
  const blocksWide = Math.floor(w / block);
  const blocksHigh = Math.floor(h / block);
  const length = blocksWide * blocksHigh * 3;
  const blockLinear = new Float32Array(length);
  const blockSpread = new Float32Array(length);
  const blockClipped = new Uint8Array(length);
  const low = (LOW_CODE8 * maxCode) / 255;
  const pixels = block * block;
  for (let by = 0; by < blocksHigh; by++) {
    for (let bx = 0; bx < blocksWide; bx++) {
      for (let c = 0; c < 3; c++) {
        const channel = channels === 3 ? c : 0;
        const linear = frame.codeToLinear[Math.min(c, frame.codeToLinear.length - 1)]!;
        const clipFrom = frame.clipFromCode[Math.min(c, frame.clipFromCode.length - 1)] ?? maxCode;
        const high = Math.min((HIGH_CODE8 * maxCode) / 255, clipFrom);
        let sum = 0;
        let squares = 0;
        let clipped = 0;
        for (let y = by * block; y < (by + 1) * block; y++) {
          for (let x = bx * block; x < (bx + 1) * block; x++) {
            const code = data[(y * w + x) * channels + channel]!;
            if (code <= low || code >= high) clipped = 1;
            const value = linear[code]!;
            sum += value;
            squares += value * value;
          }
        }
        const o = (by * blocksWide + bx) * 3 + c;
        const mean = sum / pixels;
        blockLinear[o] = mean;
        blockSpread[o] = mean > 0 ? Math.sqrt(Math.max(0, squares / pixels - mean * mean)) / mean : 0;
        blockClipped[o] = clipped;
      }
    }
  }
  return { blocksWide, blocksHigh, blockLinear, blockSpread, blockClipped };
}
