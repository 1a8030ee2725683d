import type { MeterArithmetic } from '../contracts/plan-arithmetic.js';
import { METER_CONSTANT_C, ev100FromIlluminance, fNumberForEv100 } from '../photometry/apex.js';
import { nearestIso } from '../photometry/nearest-nominal.js';
import { ratioFromStops } from '../photometry/stops.js';
import { planCautions } from './cautions.js';
import { fNumberSetting, lightBetween, lightTurn, powerTurn } from './settings.js';

/** What the meter read: an exact f-number; or, of continuous light, an exposure value at ISO 100, or lux. */
type Reading = { exactFNumber: number } | ((EvReading | LuxReading) & Shot);

interface EvReading {
  ev100: number;
}
interface LuxReading {
  lux: number;
  /** In lx s; 250, of a flat receptor, where null. */
  meterConstantC: number | null;
}
/** Time and speed that make an f-number of an exposure value. */
interface Shot {
  exactExposureTimeSeconds: number;
  exactIso: number;
}

export interface MeterQuestion {
  reading: Reading;
  targetExactFNumber: number;
  /** Exact ISO speed that the meter stands at, where told. */
  exactIso: number | null;
  powerShare: number | null;
  light: 'flash' | 'continuous' | null;
}

/** From a meter reading to a wanted aperture: how far to turn the light, and what else would do. */
export function planMeter(question: MeterQuestion): MeterArithmetic {
  const metered = meteredBy(question.reading, question.exactIso);
  const turnStops = lightBetween(metered.exactFNumber, question.targetExactFNumber);
  const wantedIso = metered.exactIso === null ? null : metered.exactIso * ratioFromStops(turnStops);
  return {
    kind: 'meter',
    metered: { ...metered, ...fNumberSetting(metered.exactFNumber) },
    target: fNumberSetting(question.targetExactFNumber),
    turn: lightTurn(turnStops),
    power: powerTurn(question.powerShare, turnStops),
    insteadIso: wantedIso === null ? null : { iso: nearestIso(wantedIso)?.nominal ?? null, exactIso: wantedIso },
    cautions: lightTurn(turnStops).direction === 'up' ? planCautions({ light: question.light, overhead: false }) : [],
  };
}

/** The aperture that the reading asks for, with what it was formed from; null for what the reading does not tell. */
function meteredBy(reading: Reading, isoTold: number | null): Omit<MeterArithmetic['metered'], 'fNumber'> {
  if ('exactFNumber' in reading)
    return {
      exactFNumber: reading.exactFNumber,
      ev100: null,
      lux: null,
      meterConstantC: null,
      exactExposureTimeSeconds: null,
      exactIso: isoTold,
    };
  const { exactExposureTimeSeconds, exactIso } = reading;
  const inLux =
    'lux' in reading ? { lux: reading.lux, meterConstantC: reading.meterConstantC ?? METER_CONSTANT_C } : null;
  const ev100 = 'ev100' in reading ? reading.ev100 : ev100FromIlluminance(reading.lux, inLux?.meterConstantC);
  return {
    exactFNumber: fNumberForEv100(ev100, exactExposureTimeSeconds, exactIso),
    ev100,
    lux: inLux?.lux ?? null,
    meterConstantC: inLux?.meterConstantC ?? null,
    exactExposureTimeSeconds,
    exactIso,
  };
}
