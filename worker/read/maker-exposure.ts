import type { ExposureData } from '../../src/contracts/exposure.js';
import type { MakerExposure } from '../decode/decoded-frame.js';
import { withApex } from './apex-fields.js';

const FIELDS = ['fNumber', 'exposureTimeSeconds', 'iso', 'cameraMake', 'cameraModel', 'cameraSerial'] as const;

/**
 * Fills what the standard tags left open with what the raw decoder found in the maker's own data. Nothing that the
 * standard tags say is changed; every field that was filled is named in a note and no longer `missing`.
 *
 * The JPEG of the same exposure mostly has no serial number in its standard tags; who compares cameras takes an unknown
 * one for any (`canBeOneCamera`). Maker notes in JPEGs are not read: every maker lays them out and hides them its own way.
 */
export function withMakerExposure(
  exposure: ExposureData,
  maker: MakerExposure | null,
): { exposure: ExposureData; notes: string[] } {
  if (maker === null) return { exposure, notes: [] };
  const filled = FIELDS.filter((field) => exposure[field] === null && maker[field] !== null);
  if (filled.length === 0) return { exposure, notes: [] };
  const merged: ExposureData = {
    ...exposure,
    ...withApex({
      fNumber: exposure.fNumber ?? maker.fNumber,
      exposureTimeSeconds: exposure.exposureTimeSeconds ?? maker.exposureTimeSeconds,
      iso: exposure.iso ?? maker.iso,
    }),
    cameraMake: exposure.cameraMake ?? maker.cameraMake,
    cameraModel: exposure.cameraModel ?? maker.cameraModel,
    cameraSerial: exposure.cameraSerial ?? maker.cameraSerial,
    missing: exposure.missing.filter(({ field }) => !filled.some((name) => name === field)),
  };
  return { exposure: merged, notes: [`Taken from the maker's own data in the raw file: ${filled.join(', ')}.`] };
}
