import type { ExposureData, FlashState } from '../../src/contracts/exposure.js';
import { decodeFlash } from '../../src/photometry/flash-bits.js';
import { withApex } from './apex-fields.js';
import { readExposureTimeSeconds, readFNumber, readIso } from './camera-settings.js';
import { readCapturedAt } from './captured-at.js';
import type { ExifTagSet } from './exif-tag-set.js';
import { EXPOSURE_MODE, EXPOSURE_PROGRAM, LIGHT_SOURCE, METERING_MODE, WHITE_BALANCE } from './exif-words.js';

export interface ExposureReading {
  exposure: ExposureData;
  /** Where a value came from when not from its own tag. */
  notes: string[];
}

/** Turns the tags of a file into exposure data: as written, exact, and in APEX; and says what is missing and why. */
export function exposureFromTags(tags: ExifTagSet): ExposureReading {
  const missing: ExposureData['missing'] = [];
  const notes: string[] = [];
  const take = <T>(
    field: string,
    reading: { value: T; note: string | null } | { value: null; because: string },
  ): T | null => {
    if ('because' in reading) {
      missing.push({ field, because: reading.because });
      return null;
    }
    if (reading.note !== null) notes.push(reading.note);
    return reading.value;
  };

  const fNumber = take('fNumber', readFNumber(tags));
  const exposureTimeSeconds = take('exposureTimeSeconds', readExposureTimeSeconds(tags));
  const iso = take('iso', readIso(tags));
  const flash = take('flash', readFlash(tags));
  const capturedAt = take('capturedAt', readCapturedAt(tags));
  const cameraModel = tags.text('model');
  if (cameraModel === null) missing.push({ field: 'cameraModel', because: 'no Model in the file' });

  const exposure: ExposureData = {
    ...withApex({ fNumber, exposureTimeSeconds, iso }),
    exposureBiasStops: readExposureBias(tags),
    flash,
    exposureProgram: EXPOSURE_PROGRAM.get(tags.number('exposureProgram') ?? -1) ?? null,
    exposureMode: EXPOSURE_MODE.get(tags.number('exposureMode') ?? -1) ?? null,
    meteringMode: METERING_MODE.get(tags.number('meteringMode') ?? -1) ?? null,
    whiteBalance: WHITE_BALANCE.get(tags.number('whiteBalance') ?? -1) ?? null,
    lightSource: LIGHT_SOURCE.get(tags.number('lightSource') ?? -1) ?? null,
    capturedAt,
    cameraMake: tags.text('make'),
    cameraModel,
    cameraSerial: tags.text('bodySerialNumber') ?? tags.text('dngCameraSerialNumber'),
    lensModel: tags.text('lensModel'),
    focalLengthMm: tags.positive('focalLength'),
    focalLength35mmMm: tags.positive('focalLength35mm'),
    software: tags.text('software'),
    renderingSettings: readRenderingSettings(tags),
    missing,
  };
  return { exposure, notes };
}

function readFlash(tags: ExifTagSet): { value: FlashState; note: null } | { value: null; because: string } {
  const code = tags.number('flash');
  if (code === null) return { value: null, because: 'no Flash tag in the file' };
  if (!Number.isInteger(code) || code < 0 || code > 0xffff)
    return { value: null, because: `the Flash tag says ${code}, not a whole number 0 to 65535` };
  return { value: decodeFlash(code), note: null };
}

/** ExposureBiasValue, ordinarily -99.99 to 99.99 (Exif 2.3); what is beyond is a mark for unknown. */
function readExposureBias(tags: ExifTagSet): number | null {
  const bias = tags.number('exposureBiasValue');
  return bias !== null && Math.abs(bias) < 100 ? bias : null;
}

/** The numbers as written, in a fixed order; null when none of them is there. */
function readRenderingSettings(tags: ExifTagSet): string | null {
  const names = ['customRendered', 'contrast', 'saturation', 'sharpness', 'colourSpace'] as const;
  const written = names.flatMap((name) => {
    const value = tags.number(name);
    return value === null ? [] : [`${name} ${value}`];
  });
  return written.length > 0 ? written.join(', ') : null;
}
