import type { MeterReading, PlannedSetup } from '../../contracts/plan.js';
import { SV_OF_ISO_100, avFromFNumber, ev100FromIlluminance, svFromIso, tvFromSeconds } from '../../photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../photometry/nominal-scales.js';
import {
  SHUTTER_WEIGHT_CONTINUOUS,
  predictedChangeStops,
  type ApexSettings,
} from '../../photometry/predicted-change.js';
import type { FrameFacts } from '../facts.js';
import type { Unknown } from '../known.js';
import { settingsText } from '../wording.js';

/** The exposure value at ISO 100 that a reading without settings stands for; null for one in settings. */
function ev100Of({ ev100, lux, meterConstantC }: MeterReading): number | null {
  if (ev100 !== undefined) return ev100;
  return lux === undefined ? null : ev100FromIlluminance(lux, meterConstantC);
}

/** A reading without settings says nothing of a flash, which no time makes up for. */
export const isOfContinuousLight = (reading: MeterReading): boolean => ev100Of(reading) !== null;

/**
 * The settings that a reading asks for, on the nominal scales' exact values. An exposure value fixes their sum
 * Av + Tv - (Sv - 5) only, so it comes back as that with Tv 0 and Sv 5, good for continuous light.
 *
 * @returns null for a reading that says nothing of this light
 */
function apexOfReading(reading: MeterReading, shutterWeight: number): ApexSettings | null {
  const ev100 = ev100Of(reading);
  if (ev100 !== null)
    return shutterWeight === SHUTTER_WEIGHT_CONTINUOUS ? { av: ev100, tv: 0, sv: SV_OF_ISO_100 } : null;
  const { fNumber, iso, exposureTimeSeconds } = reading;
  if (fNumber === undefined || iso === undefined) return null;
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
 * @returns null where the frame's settings are not known, the light is continuous and a time is missing, or the reading is
 *   of continuous light only and there was a flash
 */
export function fromReadingStops(facts: FrameFacts, planned: PlannedSetup, shutterWeight: number): Unknown {
  const asked = planned.reading === undefined ? null : apexOfReading(planned.reading, shutterWeight);
  const stops = asked === null ? null : predictedChangeStops(asked, facts, shutterWeight);
  return stops === null ? null : stops - (planned.overReadingStops ?? 0);
}

/** How much more light the second reading says there is than the first; null where one says nothing of this light. */
export function lightReadStops(first: MeterReading, second: MeterReading, shutterWeight: number): Unknown {
  const [before, after] = [apexOfReading(first, shutterWeight), apexOfReading(second, shutterWeight)];
  const change = before === null || after === null ? null : predictedChangeStops(before, after, shutterWeight);
  // Settings that give less exposure answer to more light.
  return change === null ? null : -change + 0;
}

export function readingText({ reading, overReadingStops }: PlannedSetup): string {
  if (reading === undefined) return '';
  const told = toldText(reading);
  const over = overReadingStops ?? 0;
  return over === 0 ? told : `${told}, ${Math.abs(over).toFixed(2)} stop ${over > 0 ? 'over' : 'under'} it`;
}

function toldText(reading: MeterReading): string {
  const { fNumber, iso, exposureTimeSeconds, lux } = reading;
  const ev100 = ev100Of(reading);
  if (ev100 === null) return settingsText(fNumber ?? null, exposureTimeSeconds ?? null, iso ?? null);
  const value = `EV ${ev100.toFixed(1)} at ISO 100`;
  return lux === undefined ? value : `${Number(lux.toPrecision(4))} lx (${value})`;
}
