import { ADOBE_RGB_1998 } from '../../src/photometry/rgb-spaces.js';
import { statedSpace, takenAsSrgb, type CodeScale, type ColourHandling } from './colour-handling.js';
import type { ExifColourSpace } from './decoded-frame.js';
import { ADOBE_RGB_TO_XYZ } from './rgb-primaries.js';

/** Colour of a file without a profile, by what its Exif says; null when Exif says nothing of it. */
export function exifColourHandling(
  space: ExifColourSpace | undefined,
  channels: 1 | 3,
  scale: CodeScale,
): ColourHandling | null {
  switch (space) {
    case undefined:
    case 'not-stated':
      return null;
    case 'srgb':
      return takenAsSrgb(channels, scale, 'none', null, 'The file holds no colour profile; its Exif says sRGB');
    case 'adobe-rgb':
      return statedSpace({
        curve: ADOBE_RGB_1998.toLinear,
        rgbToXyz: ADOBE_RGB_TO_XYZ,
        description: ADOBE_RGB_1998.name,
        because: 'The file holds no colour profile; its Exif says Adobe RGB (a DCF option file)',
        channels,
        scale,
      });
    case 'other':
      return takenAsSrgb(
        channels,
        scale,
        'none',
        null,
        'The file holds no colour profile and its Exif says a space other than sRGB without saying which, so codes are taken as sRGB; saturated colours may be off',
      );
  }
}
