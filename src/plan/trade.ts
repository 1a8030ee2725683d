import type { TradeArithmetic, TradeRow } from '../contracts/plan-arithmetic.js';
import { type CameraExposure, avFromFNumber, ev100FromSettings, svFromIso, tvFromSeconds } from '../photometry/apex.js';
import { nearestExposureTimeSeconds, nearestFNumber, nearestIso } from '../photometry/nearest-nominal.js';
import {
  SHUTTER_WEIGHT_CONTINUOUS,
  SHUTTER_WEIGHT_FLASH,
  predictedChangeStops,
} from '../photometry/predicted-change.js';
import { planCautions } from './cautions.js';

export interface TradeQuestion {
  /** Exact settings, all three. */
  from: CameraExposure;
  /** Settings to go to, exact; what is not told may be used to keep the exposure. None: a ladder of apertures. */
  to: Partial<CameraExposure>;
  light: 'flash' | 'continuous';
  syncSeconds: number | null;
}

type KeptBy = NonNullable<TradeRow['keptBy']>;

/** Whole stops of aperture that the ladder shows. */
const LADDER_STOPS = [-3, -2, -1, 1, 2, 3] as const;

/** Aperture, shutter and ISO settings that keep the exposure, and what each does to flash and to continuous light. */
export function planTrade(question: TradeQuestion): TradeArithmetic {
  const { from, light, syncSeconds } = question;
  const weight = light === 'flash' ? SHUTTER_WEIGHT_FLASH : SHUTTER_WEIGHT_CONTINUOUS;
  const asked = Object.keys(question.to).length > 0;
  const targets = asked ? [question.to] : LADDER_STOPS.map((stops) => ({ fNumber: from.fNumber * 2 ** (stops / 2) }));
  const rows = targets.flatMap((to) =>
    keepers(to, light).map((keptBy) => tradeRow(from, to, keptBy, weight, syncSeconds)),
  );
  // A ladder shows what a camera can be set to; a trade that was asked for is shown in any case.
  const shown = asked ? rows : rows.filter((row) => row.fNumber && row.exposureTimeSeconds && row.iso);
  return {
    kind: 'trade',
    light,
    exactSyncSeconds: syncSeconds,
    from: {
      fNumber: nearestFNumber(from.fNumber)?.nominal ?? null,
      exactFNumber: from.fNumber,
      exposureTimeSeconds: nearestExposureTimeSeconds(from.exposureTimeSeconds)?.nominal ?? null,
      exactExposureTimeSeconds: from.exposureTimeSeconds,
      iso: nearestIso(from.iso)?.nominal ?? null,
      exactIso: from.iso,
    },
    ev100: ev100FromSettings(from),
    rows: shown,
    notes: notesFor(question, shown),
    cautions: shown.some((row) => row.powerStops > 0) ? planCautions({ light, overhead: false }) : [],
  };
}

/** What is free to keep the exposure. Null: nothing is, the row tells what happens. */
function keepers(to: Partial<CameraExposure>, light: 'flash' | 'continuous'): (KeptBy | null)[] {
  // Under flash a change of shutter alone is none, so nothing has to keep it.
  if (light === 'flash' && to.fNumber === undefined && to.iso === undefined) return [null];
  const free: KeptBy[] = [];
  if (to.exposureTimeSeconds === undefined && light === 'continuous') free.push('shutter');
  if (to.iso === undefined) free.push('iso');
  if (to.fNumber === undefined) free.push('aperture');
  if (light === 'flash') free.push('power');
  return free.length === 0 ? [null] : free;
}

function tradeRow(
  from: CameraExposure,
  to: Partial<CameraExposure>,
  keptBy: KeptBy | null,
  weight: number,
  syncSeconds: number | null,
): TradeRow {
  const moved = { ...from, ...to };
  const lacking = -change(from, moved, weight);
  const kept = { ...moved };
  if (keptBy === 'shutter') kept.exposureTimeSeconds *= 2 ** lacking;
  if (keptBy === 'iso') kept.iso *= 2 ** lacking;
  if (keptBy === 'aperture') kept.fNumber *= 2 ** (-lacking / 2);
  const powerStops = keptBy === 'power' ? lacking : 0;

  const aperture = nearestFNumber(kept.fNumber);
  const shutter = nearestExposureTimeSeconds(kept.exposureTimeSeconds);
  const iso = nearestIso(kept.iso);
  // What a camera is set to; the value itself where no scale has it or where the user wrote it.
  const set: CameraExposure = { ...kept };
  if (keptBy === 'aperture') set.fNumber = aperture?.exact ?? kept.fNumber;
  if (keptBy === 'shutter') set.exposureTimeSeconds = shutter?.exact ?? kept.exposureTimeSeconds;
  if (keptBy === 'iso') set.iso = iso?.exact ?? kept.iso;
  const fasterThanSync = syncSeconds !== null && set.exposureTimeSeconds < syncSeconds * (1 - 1e-6);
  return {
    fNumber: aperture?.nominal ?? null,
    exactFNumber: set.fNumber,
    exposureTimeSeconds: shutter?.nominal ?? null,
    exactExposureTimeSeconds: set.exposureTimeSeconds,
    iso: iso?.nominal ?? null,
    exactIso: set.iso,
    keptBy,
    powerStops,
    levelChangeStops:
      fasterThanSync && weight === SHUTTER_WEIGHT_FLASH ? null : clean(change(from, set, weight) + powerStops),
    continuousChangeStops: clean(change(from, set, SHUTTER_WEIGHT_CONTINUOUS)),
    fasterThanSync,
  };
}

function change(from: CameraExposure, to: CameraExposure, weight: number): number {
  // All three settings are there, so the prediction is never null.
  return predictedChangeStops(apex(from), apex(to), weight) ?? 0;
}

const apex = (set: CameraExposure) => ({
  av: avFromFNumber(set.fNumber),
  tv: tvFromSeconds(set.exposureTimeSeconds),
  sv: svFromIso(set.iso),
});

/** Rounding of the arithmetic is no change. */
const clean = (stops: number): number => (Math.abs(stops) < 1e-9 ? 0 : stops);

function notesFor({ light, syncSeconds }: TradeQuestion, rows: readonly TradeRow[]): string[] {
  if (light === 'continuous') return [];
  const notes = [
    'Flash is shorter than the shutter: up to the sync speed the shutter does nothing to the flash, only to the continuous light in the picture.',
  ];
  if (syncSeconds === null)
    notes.push(
      'The sync speed was not told: look it up for your camera; with a faster shutter part of the frame gets no flash.',
    );
  else if (rows.some((row) => row.fasterThanSync))
    notes.push('Faster than the sync speed: part of the frame gets no flash.');
  return notes;
}
