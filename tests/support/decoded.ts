import { sniffFormat } from '../../worker/read/sniff-format.js';
import { decodeFrame } from '../../worker/decode/decode-frame.js';
import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';
import { StopledgerError } from '../../src/errors.js';

/** Sniffs and decodes; a file that is no image fails as the worker fails it. */
export async function decodeBytes(bytes: Buffer, maxPixels = 100_000_000, orientation = 1): Promise<DecodedFrame> {
  if (bytes.length === 0) throw new StopledgerError('frame-empty', 'The file has 0 bytes, expected an image');
  const sniffed = sniffFormat(bytes);
  if (sniffed === null) throw new StopledgerError('frame-not-an-image', 'The signature is of no known image');
  return decodeFrame(bytes, sniffed, { maxPixels, orientation });
}

/** Linear RGB of one pixel, by the frame's own tables. */
export function linearAt(frame: DecodedFrame, index: number): [number, number, number] {
  const channel = (c: number): number => {
    const table = frame.codeToLinear[frame.channels === 1 ? 0 : c];
    const code = frame.data[index * frame.channels + (frame.channels === 1 ? 0 : c)];
    return table?.[code ?? 0] ?? Number.NaN;
  };
  return [channel(0), channel(1), channel(2)];
}

/** Luminance of one pixel, diffuse white = 1. */
export function luminanceAt(frame: DecodedFrame, index: number): number {
  const [r, g, b] = linearAt(frame, index);
  if (frame.channels === 1) return r;
  return frame.rgbToXyz[3] * r + frame.rgbToXyz[4] * g + frame.rgbToXyz[5] * b;
}

/** Throws unless everything in the frame has the shape that its contract says and is finite. */
export function assertWellFormed(frame: DecodedFrame): void {
  const { storedWidthPx, storedHeightPx, channels, maxCode } = frame;
  const fail = (what: string): never => {
    throw new Error(`Malformed frame: ${what}`);
  };
  if (frame.data.length !== storedWidthPx * storedHeightPx * channels) fail(`${frame.data.length} samples`);
  if (frame.codeToLinear.length !== channels) fail(`${frame.codeToLinear.length} tables`);
  for (const table of frame.codeToLinear) {
    if (table.length !== maxCode + 1) fail(`table of ${table.length}`);
    if (!table.every((value) => Number.isFinite(value) && value >= 0)) fail('table holds a value that is no light');
  }
  if (frame.clipFromCode.length !== channels) fail('clipFromCode');
  if (!frame.clipFromCode.every((code) => code > 0 && code <= maxCode))
    fail(`clipFromCode ${String(frame.clipFromCode)}`);
  if (!frame.rgbToXyz.every(Number.isFinite)) fail('rgbToXyz');
  const whiteY = frame.rgbToXyz[3] + frame.rgbToXyz[4] + frame.rgbToXyz[5];
  if (Math.abs(whiteY - 1) > 1e-3) fail(`white has Y ${whiteY}`);
  if (![1, 2, 3, 4, 5, 6, 7, 8].includes(frame.orientation)) fail(`orientation ${frame.orientation}`);
}
