import type { MeterArithmetic } from '../contracts/plan-arithmetic.js';
import { fNumberForEv100 } from '../photometry/apex.js';
import { nearestIso } from '../photometry/nearest-nominal.js';
import { ratioFromStops } from '../photometry/stops.js';
import { planCautions } from './cautions.js';
import { fNumberSetting, lightBetween, lightTurn, powerTurn } from './settings.js';

export interface MeterQuestion {
  /** Exact f-number that the meter reads; or an exposure value with the time and speed that make an f-number of it. */
  reading: { exactFNumber: number } | { ev100: number; exactExposureTimeSeconds: number; exactIso: number };
  targetExactFNumber: number;
  /** Exact ISO speed that the meter stands at, where told. */
  exactIso: number | null;
  powerShare: number | null;
  light: 'flash' | 'continuous' | null;
}

/** From a meter reading to a wanted aperture: how far to turn the light, and what else would do. */
export function planMeter(question: MeterQuestion): MeterArithmetic {
  const { reading } = question;
  const byEv = 'ev100' in reading;
  const metered = byEv
    ? fNumberForEv100(reading.ev100, reading.exactExposureTimeSeconds, reading.exactIso)
    : reading.exactFNumber;
  const exactIso = byEv ? reading.exactIso : question.exactIso;
  const turnStops = lightBetween(metered, question.targetExactFNumber);
  const wantedIso = exactIso === null ? null : exactIso * ratioFromStops(turnStops);
  return {
    kind: 'meter',
    metered: {
      ...fNumberSetting(metered),
      ev100: byEv ? reading.ev100 : null,
      exactExposureTimeSeconds: byEv ? reading.exactExposureTimeSeconds : null,
      exactIso,
    },
    target: fNumberSetting(question.targetExactFNumber),
    turn: lightTurn(turnStops),
    power: powerTurn(question.powerShare, turnStops),
    insteadIso: wantedIso === null ? null : { iso: nearestIso(wantedIso)?.nominal ?? null, exactIso: wantedIso },
    cautions: lightTurn(turnStops).direction === 'up' ? planCautions({ light: question.light, overhead: false }) : [],
  };
}
