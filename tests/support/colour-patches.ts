import { expect } from 'vitest';
import { sharp } from '../../worker/decode/sharp-setup.js';

export type Triple = readonly [number, number, number];

/** Greys, skin-like, saturated and primary patches, as 8-bit codes of the space itself. */
export const PATCHES: readonly Triple[] = [
  [255, 255, 255],
  [118, 118, 118],
  [46, 46, 46],
  [12, 12, 12],
  [198, 150, 130],
  [98, 66, 54],
  [220, 40, 40],
  [40, 200, 60],
  [30, 60, 210],
  [255, 0, 0],
  [0, 255, 0],
  [0, 0, 255],
];
export const TOLERANCE_STOPS = 0.01;
const SIDE_PX = 16;
export const PATCHES_WIDTH_PX = SIDE_PX * PATCHES.length;
export const PATCHES_HEIGHT_PX = SIDE_PX;

export const srgbDecode = (v: number): number => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
export const adobeDecode = (v: number): number => v ** (563 / 256);

/** Luminance of a patch of codes 0..255 by a published luminance row and a decoding curve. */
export const patchLuminance = (yRow: Triple, decode: (v: number) => number, patch: Triple): number =>
  patch.reduce((sum, code, channel) => sum + (yRow[channel] ?? 0) * decode(code / 255), 0);

export function expectStops(actual: number, expected: number, what: string, toleranceStops = TOLERANCE_STOPS): void {
  const differenceStops = Math.log2(actual / expected);
  expect(Math.abs(differenceStops), `${what}: ${actual} for ${expected}`).toBeLessThan(toleranceStops);
}

/** All patches side by side, each a square. */
export function patchPixels(bits: 8 | 16): Uint8Array | Uint16Array {
  const pixels =
    bits === 8 ? new Uint8Array(PATCHES_WIDTH_PX * SIDE_PX * 3) : new Uint16Array(PATCHES_WIDTH_PX * SIDE_PX * 3);
  for (let index = 0; index < pixels.length; index += 1) {
    const patch = PATCHES[Math.floor((Math.floor(index / 3) % PATCHES_WIDTH_PX) / SIDE_PX)];
    pixels[index] = (patch?.[index % 3] ?? 0) * (bits === 8 ? 1 : 257);
  }
  return pixels;
}

const RAW = { width: PATCHES_WIDTH_PX, height: SIDE_PX, channels: 3 as const };

export function patchPng(bits: 8 | 16): Promise<Buffer> {
  const image = sharp(patchPixels(bits), { raw: RAW });
  return bits === 8 ? image.png().toBuffer() : image.toColourspace('rgb16').png().toBuffer();
}

export function patchJpeg(): Promise<Buffer> {
  return sharp(patchPixels(8), { raw: RAW }).jpeg({ quality: 100, chromaSubsampling: '4:4:4' }).toBuffer();
}

/** Index of a pixel in the middle of a patch. */
export const patchIndex = (patch: number): number => SIDE_PX * (PATCHES.length * 8 + patch) + 8;
