import type { MeterReading, PlannedSetup } from '../../contracts/plan.js';
import { avFromFNumber, svFromIso, tvFromSeconds } from '../../photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../photometry/nominal-scales.js';
import { predictedChangeStops, type ApexSettings } from '../../photometry/predicted-change.js';
import type { FrameFacts } from '../facts.js';
import type { Unknown } from '../known.js';
import { settingsText } from '../wording.js';

/** The settings that a reading asks for, on the nominal scales' exact values. */
export function apexOfReading({ fNumber, iso, exposureTimeSeconds }: MeterReading): ApexSettings {
  return {
    av: avFromFNumber(exactFNumber(fNumber).exact),
    sv: svFromIso(exactIso(iso).exact),
    tv: exposureTimeSeconds === undefined ? null : tvFromSeconds(exactExposureTimeSeconds(exposureTimeSeconds).exact),
  };
}

/**
 * How much brighter a frame's settings make it than the reading asks for, what is meant over or under it taken out.
 * A correct exposure is the meter's own: the APEX equation with the reading's settings.
 *
 * @returns null where the frame's settings are not known, or the light is continuous and a time is missing.
 */
export function fromReadingStops(facts: FrameFacts, planned: PlannedSetup, shutterWeight: number): Unknown {
  if (planned.reading === undefined) return null;
  const stops = predictedChangeStops(apexOfReading(planned.reading), facts, shutterWeight);
  return stops === null ? null : stops - (planned.overReadingStops ?? 0);
}

/** How much more light the second reading says there is than the first; null where a time that counts is missing. */
export function lightReadStops(first: MeterReading, second: MeterReading, shutterWeight: number): Unknown {
  const change = predictedChangeStops(apexOfReading(first), apexOfReading(second), shutterWeight);
  // Settings that give less exposure answer to more light.
  return change === null ? null : -change + 0;
}

export function readingText({ reading, overReadingStops }: PlannedSetup): string {
  if (reading === undefined) return '';
  const settings = settingsText(reading.fNumber, reading.exposureTimeSeconds ?? null, reading.iso);
  const over = overReadingStops ?? 0;
  return over === 0 ? settings : `${settings}, ${Math.abs(over).toFixed(2)} stop ${over > 0 ? 'over' : 'under'} it`;
}
