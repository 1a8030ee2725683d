import { StopledgerError } from '../../src/errors.js';

/**
 * Refuses an image before anything is decoded. Throws `frame-too-many-pixels` when width x height is more than
 * `maxPixels`, `frame-corrupt` when either is not a positive whole number.
 */
export function refuseTooManyPixels(widthPx: number, heightPx: number, maxPixels: number): void {
  if (!Number.isInteger(widthPx) || !Number.isInteger(heightPx) || widthPx < 1 || heightPx < 1)
    throw new StopledgerError('frame-corrupt', `The header gives a size of ${widthPx} x ${heightPx} pixels`);
  if (widthPx * heightPx > maxPixels)
    throw new StopledgerError(
      'frame-too-many-pixels',
      `The header gives ${widthPx} x ${heightPx} pixels, more than the ${maxPixels} allowed`,
    );
}
