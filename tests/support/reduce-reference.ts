import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';
import { KEY_SHIFT, LIGHT_KEYS } from '../../worker/measure/light-histogram.js';
import { blackToCode, blockSizePx, type Reduction } from '../../worker/measure/reduce.js';

/** What `reduceFrame` must give, by a plain loop over pixels with sums in doubles. */
export function reduceFramePlainly(frame: DecodedFrame, toScene: (fileLinear: number) => number): Reduction {
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
