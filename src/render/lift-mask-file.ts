import sharp from 'sharp';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Field } from './lift-mask-filters.js';

export const MASK_FORMATS = ['png', 'tiff'] as const;
export type MaskFormat = (typeof MASK_FORMATS)[number];
export const MASK_DEPTHS = [8, 16] as const;
export type MaskDepth = (typeof MASK_DEPTHS)[number];

export interface MaskFileOptions {
  format: MaskFormat;
  /** Bits a pixel. */
  depth: MaskDepth;
  /** Size of the upright frame, for raw of the developed one. */
  size: Pick<FrameMeasurement['source'], 'widthPx' | 'heightPx'>;
}

/**
 * The mask as a grey picture of the upright frame's size, without profile or gamma: a pixel's value over the largest
 * value (255 or 65,535) is the share of the lift, in stops, that it takes. Made in strips, so that memory does not
 * grow with the frame; TIFF is compressed without loss (Deflate).
 */
export async function encodeLiftMask(mask: Field, { format, depth, size }: MaskFileOptions): Promise<Buffer> {
  const codes = Uint16Array.from(mask.values, (share) => Math.round(share * 65_535));
  const grey16 = sharp(codes, { raw: { width: mask.widthPx, height: mask.heightPx, channels: 1 } })
    .resize({ width: size.widthPx, height: size.heightPx, fit: 'fill', kernel: 'cubic' })
    .toColourspace(depth === 16 ? 'grey16' : 'b-w');
  const picture =
    format === 'png'
      ? grey16.png({ compressionLevel: 6, palette: false })
      : grey16.tiff({ compression: 'deflate', predictor: 'horizontal' });
  return picture.toBuffer();
}
