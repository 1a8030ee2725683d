import {
  ASSUMED_CAMERA_PARAMETERS,
  logisticToneCurve,
  type LogisticParameters,
  type ToneCurve,
} from '../tone-response.js';
import { median } from '../robust-statistics.js';
import { keepFrames, type Bracket } from './bracket.js';
import { fitDebevecMalik } from './debevec-malik.js';
import { minimiseSimplex } from './nelder-mead.js';
import { bracketLoss, siteSpreadStops, stepChecks, type StepCheck } from './residual.js';

export type FitMethod = 'logistic' | 'logistic-with-veil' | 'debevec-malik';

export interface ResponseFit {
  method: FitMethod;
  curve: ToneCurve;
  /** Of the logistic forms; null for the free form, whose knots stand in `knots`. */
  parameters: LogisticParameters | null;
  /** The curve as ascending file-linear / scene-linear knots, for keeping. */
  knots: { fileLinear: number[]; sceneLinear: number[] };
  /** Root mean square of all sites' light about their means, in stops. */
  residualStops: number;
  /** Share of the sites that were left out because something moved there. */
  movedShare: number;
  /** The same over frames that were left out of the fit, one after the other, per method. */
  crossValidatedStops: Record<FitMethod, number | null>;
  steps: StepCheck[];
}

export interface FitRefusal {
  refused: string;
}

const LEAST_FRAMES = 3;
const LEAST_SPAN_STOPS = 1.5;
const LEAST_SITES = 60;
/** More than this left over means that the scene or the light was not still. */
const LARGEST_RESIDUAL_STOPS = 0.2;

/** Fits a monotone response to a bracket, choosing the form by leave-one-frame-out cross-validation. */
export function fitResponse(bracket: Bracket): ResponseFit | FitRefusal {
  const refused = tooPoor(bracket);
  if (refused) return { refused };
  const scores: Record<FitMethod, number | null> = {
    logistic: crossValidate(bracket, 'logistic'),
    'logistic-with-veil': crossValidate(bracket, 'logistic-with-veil'),
    'debevec-malik': crossValidate(bracket, 'debevec-malik'),
  };
  let best: FitMethod = 'logistic';
  for (const method of ['logistic-with-veil', 'debevec-malik'] as const) {
    // A freer form has to be clearly better: it carries more that can go wrong outside the bracket.
    if ((scores[method] ?? Infinity) < 0.9 * (scores[best] ?? Infinity)) best = method;
  }
  const first = fitBy(bracket, best);
  const still = first && withoutMoved(bracket, first.curve);
  const fitted = still && fitBy(still, best);
  if (!fitted) return { refused: `the ${best} fit found no monotone response` };
  // Judged on all sites: what was left out as moved must not make a bad bracket look good.
  const residualStops = Math.sqrt(bracketLoss(fitted.curve, bracket));
  if (residualStops > LARGEST_RESIDUAL_STOPS) {
    return {
      refused: `the best fit leaves ${residualStops.toFixed(2)} stop unexplained (at most ${LARGEST_RESIDUAL_STOPS} expected): the scene or the light was not still`,
    };
  }
  return {
    method: best,
    ...fitted,
    knots: knotsOf(fitted.curve),
    residualStops,
    movedShare: 1 - still.sites.length / bracket.sites.length,
    crossValidatedStops: scores,
    steps: stepChecks(
      fitted.curve,
      bracket,
      bracket.exposureStops.map((_, i) => i),
    ),
  };
}

function tooPoor(bracket: Bracket): string | null {
  const frames = bracket.exposureStops.length;
  if (frames < LEAST_FRAMES)
    return `a bracket needs ${LEAST_FRAMES} frames or more but ${frames} ${frames === 1 ? 'was' : 'were'} usable`;
  const used = new Set(bracket.sites.flatMap((s) => s.map((r) => r.frame)));
  const seen = [...used].map((i) => bracket.exposureStops[i]!);
  const span = seen.length > 0 ? Math.max(...seen) - Math.min(...seen) : 0;
  if (span < LEAST_SPAN_STOPS) {
    return `the usable frames span ${span.toFixed(2)} stops but ${LEAST_SPAN_STOPS} or more are needed`;
  }
  if (bracket.sites.length < LEAST_SITES) {
    return `only ${bracket.sites.length} still, unclipped places were seen in two frames or more but ${LEAST_SITES} are needed`;
  }
  return null;
}

/** Sites that the first fit explains far worse than most are where something moved. */
function withoutMoved(bracket: Bracket, curve: ToneCurve): Bracket {
  const spreads = bracket.sites.map((s) => siteSpreadStops(curve, s, bracket.exposureStops));
  const limit = Math.max(0.1, 3 * (median(spreads) ?? 0));
  return { ...bracket, sites: bracket.sites.filter((_, i) => spreads[i]! <= limit) };
}

function fitBy(
  bracket: Bracket,
  method: FitMethod,
): { curve: ToneCurve; parameters: LogisticParameters | null } | null {
  if (method === 'debevec-malik') {
    const curve = fitDebevecMalik(bracket);
    return curve && { curve, parameters: null };
  }
  const parameters = fitLogistic(bracket, method === 'logistic-with-veil');
  return { curve: logisticToneCurve(parameters), parameters };
}

function fitLogistic(bracket: Bracket, veil: boolean): LogisticParameters {
  const thinned = thin(bracket);
  const of = (x: readonly number[]): LogisticParameters => ({
    shadowSlope: x[0]!,
    shoulder: x[1]!,
    ceilingLinear: x[2]!,
    ...(veil ? { veilLinear: x[3]! } : {}),
  });
  const inRange = ([n, p, m, v = 0]: readonly number[]) =>
    n! > 0.4 && n! < 4 && p! > 0.1 && p! < 8 && m! > 1.0005 && m! < 3 && v >= 0 && v < 0.02;
  const { shadowSlope, shoulder, ceilingLinear } = ASSUMED_CAMERA_PARAMETERS;
  const start = [shadowSlope, shoulder, ceilingLinear, ...(veil ? [0.0005] : [])];
  const { x } = minimiseSimplex(
    (v) => (inRange(v) ? bracketLoss(logisticToneCurve(of(v)), thinned) : Infinity),
    start,
    [0.1, 0.2, 0.05, 0.0005].slice(0, start.length),
  );
  return of(x);
}

/** At most 1,200 sites: the fit gains nothing from more. */
function thin(bracket: Bracket): Bracket {
  const stride = Math.max(1, Math.floor(bracket.sites.length / 1200));
  return { ...bracket, sites: bracket.sites.filter((_, i) => i % stride === 0) };
}

/** Root mean square, in stops, over each frame's readings when the curve was fitted without that frame. */
function crossValidate(bracket: Bracket, method: FitMethod): number | null {
  const all = bracket.exposureStops.map((_, i) => i);
  let sum = 0;
  let folds = 0;
  for (const left of all) {
    const training = keepFrames(bracket, new Set(all.filter((i) => i !== left)));
    if (training.sites.length < LEAST_SITES / 2) continue;
    const fitted = fitBy(training, method);
    if (!fitted) return null;
    const judged = bracket.sites.filter((s) => s.some((r) => r.frame === left));
    if (judged.length === 0) continue;
    sum += bracketLoss(fitted.curve, { ...bracket, sites: judged });
    folds++;
  }
  return folds > 0 ? Math.sqrt(sum / folds) : null;
}

/** 49 knots, a sixth of a stop apart near the top and wider in the shadows. */
function knotsOf(curve: ToneCurve): { fileLinear: number[]; sceneLinear: number[] } {
  const fileLinear: number[] = [];
  const sceneLinear: number[] = [];
  for (let i = 0; i <= 48; i++) {
    const y = 2 ** (-12 * (1 - i / 48) ** 1.5);
    const x = curve.toScene(y);
    if (x > (sceneLinear.at(-1) ?? 0)) {
      fileLinear.push(y);
      sceneLinear.push(x);
    }
  }
  return { fileLinear, sceneLinear };
}
