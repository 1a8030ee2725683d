import type { LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import type { MakerExposure } from './decoded-frame.js';

/** Wide limits of what a camera can mean; as for the standard tags. Chosen, no source. */
const ISO_RANGE = [0.5, 1e8] as const;
const TIME_RANGE_SECONDS = [1e-7, 1e6] as const;
const F_NUMBER_RANGE = [0.3, 1000] as const;
/** PhotographicSensitivity can say no more than this, and says this for "more" (Exif 2.3). */
const ISO_SATURATED = 65_535;

/**
 * Exposure as LibRaw read it, maker notes included. Where it found none it says ISO 0, 1 second and f/1, so without
 * an ISO speed nothing of the exposure is believed. Null when nothing is left.
 */
export function makerExposureOf(header: LibRawMetadata): MakerExposure | null {
  const iso = inRange(header.iso_speed, ISO_RANGE);
  const believed = iso !== null && iso !== ISO_SATURATED;
  const found: MakerExposure = {
    iso: believed ? iso : null,
    exposureTimeSeconds: believed ? inRange(header.shutter, TIME_RANGE_SECONDS) : null,
    fNumber: believed ? inRange(header.aperture, F_NUMBER_RANGE) : null,
    cameraMake: textOf(header.camera_make),
    cameraModel: textOf(header.camera_model),
    cameraSerial: serialOf(header.shootinginfo?.BodySerial),
  };
  return Object.values(found).every((value) => value === null) ? null : found;
}

/** What a maker's note calls the body's serial number; none where it cannot be one (blank, all zeros, not letters and digits). */
function serialOf(value: unknown): string | null {
  const text = textOf(value);
  return text !== null && /^[0-9A-Za-z][0-9A-Za-z -]{2,31}$/.test(text) && /[1-9A-Za-z]/.test(text) ? text : null;
}

function inRange(value: unknown, [low, high]: readonly [number, number]): number | null {
  return typeof value === 'number' && value >= low && value <= high ? value : null;
}

function textOf(value: unknown): string | null {
  // eslint-disable-next-line no-control-regex
  const clean = typeof value === 'string' ? value.replace(/[\x00-\x1f\x7f]/g, ' ').trim() : '';
  return clean === '' ? null : clean.slice(0, 200);
}
