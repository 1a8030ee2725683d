import { WHITE_D65 } from '../../src/photometry/chromaticity.js';
import { ADOBE_RGB_1998, DISPLAY_P3, rgbToXyzMatrix, SRGB } from '../../src/photometry/rgb-spaces.js';

/** Linear RGB -> XYZ relative to D65, row-major. */
export const SRGB_TO_XYZ = rgbToXyzMatrix(SRGB);
export const ADOBE_RGB_TO_XYZ = rgbToXyzMatrix(ADOBE_RGB_1998);
export const DISPLAY_P3_TO_XYZ = rgbToXyzMatrix(DISPLAY_P3);

/** ITU-R BT.2020, table 3 (from memory). */
export const BT2020_TO_XYZ = rgbToXyzMatrix({
  red: { x: 0.708, y: 0.292 },
  green: { x: 0.17, y: 0.797 },
  blue: { x: 0.131, y: 0.046 },
  white: WHITE_D65,
});
