import { fNumberFromAv, secondsFromTv } from '../../src/photometry/apex.js';
import type { ExifTagSet } from './exif-tag-set.js';

/** A setting as the file has it, or the reason why there is none. `note` says where it came from if not from its own tag. */
export type Setting = { value: number; note: string | null } | { value: null; because: string };

/** Readers take an APEX time of 100 or more (either sign) for unset. */
const APEX_LIMIT = 100;

/** PhotographicSensitivity is a SHORT and cannot say more than this. */
const ISO_SATURATED = 65535;

/** What a camera can mean; beyond is a writer's mark for "unknown" or damage. Chosen wide, no source. */
const F_NUMBER_RANGE = [0.3, 1000] as const;
const TIME_RANGE_SECONDS = [1e-7, 1e6] as const;
const ISO_RANGE = [0.5, 1e8] as const;

/** f-number: FNumber, else 2^(ApertureValue / 2). 0, a zero denominator and the impossible are none. */
export function readFNumber(tags: ExifTagSet): Setting {
  const written = inRange(tags.positive('fNumber'), F_NUMBER_RANGE);
  if (written !== null) return { value: written, note: null };
  const apex = tags.positive('apertureValue');
  const computed = apex === null ? null : inRange(fNumberFromAv(apex), F_NUMBER_RANGE);
  if (computed !== null)
    return { value: computed, note: 'The f-number was computed from ApertureValue: no usable FNumber' };
  return {
    value: null,
    because: tags.has('fNumber')
      ? 'the file says no usable f-number (a lens without electric contacts, or a zero denominator)'
      : 'no FNumber or ApertureValue in the file',
  };
}

/**
 * Exposure time in seconds: ExposureTime, else 2^-ShutterSpeedValue. 0, a zero denominator and the impossible are
 * none; a ShutterSpeedValue of 0 beside an unusable ExposureTime is unset too, not one second.
 */
export function readExposureTimeSeconds(tags: ExifTagSet): Setting {
  const written = inRange(tags.positive('exposureTime'), TIME_RANGE_SECONDS);
  if (written !== null) return { value: written, note: null };
  const apex = tags.number('shutterSpeedValue');
  const unset = apex === null || Math.abs(apex) >= APEX_LIMIT || (apex === 0 && tags.has('exposureTime'));
  const computed = unset ? null : inRange(secondsFromTv(apex), TIME_RANGE_SECONDS);
  if (computed !== null)
    return { value: computed, note: 'The exposure time was computed from ShutterSpeedValue: no usable ExposureTime' };
  return {
    value: null,
    because:
      tags.has('exposureTime') || tags.has('shutterSpeedValue')
        ? 'the file says no usable exposure time (zero, a zero denominator, or an impossible value)'
        : 'no ExposureTime or ShutterSpeedValue in the file',
  };
}

/**
 * ISO speed: PhotographicSensitivity; where that is saturated (65535) or absent, the 32-bit tag that
 * SensitivityType names, else the first that is there. Exif 2.3, 4.6.5 (SensitivityType 1 SOS, 2 REI, 3 ISO
 * speed, 4 SOS+REI, 5 SOS+ISO, 6 REI+ISO, 7 all).
 */
export function readIso(tags: ExifTagSet): Setting {
  const written = inRange(tags.positive('photographicSensitivity'), ISO_RANGE);
  if (written !== null && written < ISO_SATURATED) return { value: written, note: null };
  const type = tags.number('sensitivityType') ?? 0;
  const preferred =
    type === 1 || type === 5 ? 'standardOutputSensitivity' : type === 3 ? 'isoSpeed' : 'recommendedExposureIndex';
  for (const name of [preferred, 'recommendedExposureIndex', 'standardOutputSensitivity', 'isoSpeed'] as const) {
    const value = inRange(tags.positive(name), ISO_RANGE);
    if (value !== null) return { value, note: `The ISO speed was taken from ${name}` };
  }
  if (written !== null)
    return { value: null, because: 'the ISO speed is above 65535 and the file has no tag that can say it' };
  const rw2 = inRange(tags.positive('rw2Iso'), ISO_RANGE);
  if (rw2 !== null) return { value: rw2, note: null };
  return {
    value: null,
    because: tags.has('photographicSensitivity')
      ? 'the file says no usable ISO speed'
      : 'no ISO speed in the standard tags',
  };
}

function inRange(value: number | null, [low, high]: readonly [number, number]): number | null {
  return value !== null && value >= low && value <= high ? value : null;
}
