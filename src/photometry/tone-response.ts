import { MID_GREY_LINEAR as MID_GREY } from './stops.js';

/**
 * Tone responses: what stands between the light of the scene and the linear values that a rendered
 * file decodes to. A camera's JPEG carries a curve with more contrast than the scene; to speak of stops of
 * light the curve has to be undone.
 *
 * One closed form serves for all of them, the generalised logistic (Richards 1959, J. Exp. Bot. 10:290; from
 * memory), written for y = file-linear and x = scene-linear, both with diffuse white 1:
 *
 *     y = M * (1 + (x / x0)^(-n p))^(-1/p)         x = x0 * ((y / M)^(-p) - 1)^(-1/(n p))
 *
 * On the logarithm its slope is n * (1 - (y / M)^p): n in the shadows, falling to 0 at the ceiling M. With p = 1
 * it is the saturation form of Naka & Rushton (1966, J. Physiol. 185:536; from memory). x0 is fixed by the anchor:
 * mid-grey stays where it is, x(0.18) = 0.18.
 *
 * Per channel or on luminance? On three real brackets (54,522 pixel pairs) the scatter of measured / true stops
 * was the same both ways, also over coloured pixels (robust spread 0.060 against 0.062, 0.078 against 0.077),
 * so it is applied per channel, which needs no more than a table.
 */

export interface ToneCurve {
  /** File-linear (0..1) -> scene-linear, diffuse white = 1, mid-grey kept. Monotonic; 0 -> 0. */
  readonly toScene: (fileLinear: number) => number;
  /** The inverse; never above 1. */
  readonly toFile: (sceneLinear: number) => number;
  /** Stops of file-linear for one stop of light at mid-grey. */
  readonly slopeAtMid: number;
}

export interface LogisticParameters {
  /** Slope of log file over log light in the deep shadows, > 0. */
  shadowSlope: number;
  /** How early the shoulder begins, > 0; 1 is the Naka-Rushton form, larger is later. */
  shoulder: number;
  /** File-linear value that is approached but never reached, > 1. */
  ceilingLinear: number;
  /** Veiling glare: scene-linear light added everywhere before the curve, >= 0; bends the shadows into a toe. */
  veilLinear?: number;
}

/** No curve: the file is proportional to light already. */
export const STRAIGHT: ToneCurve = { toScene: (y) => y, toFile: (x) => Math.min(1, x), slopeAtMid: 1 };

/** Builds the curve for the given parameters. Out-of-range parameters throw a RangeError naming them. */
export function logisticToneCurve(parameters: LogisticParameters): ToneCurve {
  const { shadowSlope: n, shoulder: p, ceilingLinear: ceiling, veilLinear: veil = 0 } = parameters;
  if (!(n > 0) || !(p > 0) || !(ceiling > 1) || !(veil >= 0)) {
    throw new RangeError(
      `Expected shadowSlope > 0, shoulder > 0, ceilingLinear > 1 and veilLinear >= 0 but received ${n}, ${p}, ${ceiling} and ${veil}`,
    );
  }
  const shape = (y: number) => (Math.pow(y / ceiling, -p) - 1) ** (-1 / (n * p));
  const x0 = (MID_GREY + veil) / shape(MID_GREY);
  return {
    toScene: (y) => (y <= 0 ? 0 : Math.max(0, x0 * shape(Math.min(y, 1)) - veil)),
    toFile: (x) => (x + veil <= 0 ? 0 : Math.min(1, ceiling * (1 + ((x + veil) / x0) ** (-n * p)) ** (-1 / p))),
    slopeAtMid: (n * (1 - (MID_GREY / ceiling) ** p) * MID_GREY) / (MID_GREY + veil),
  };
}

/**
 * A monotone curve through knots, straight between them on the logarithms of both axes and continued with the end
 * slopes. `fileLinear` and `sceneLinear` ascend strictly and are > 0; mid-grey is put back at 0.18.
 */
export function knotToneCurve(fileLinear: readonly number[], sceneLinear: readonly number[]): ToneCurve {
  const n = fileLinear.length;
  const ascends = (v: readonly number[]) =>
    v.every((x, i) => x > 0 && Number.isFinite(x) && (i === 0 || x > v[i - 1]!));
  if (n < 2 || sceneLinear.length !== n || !ascends(fileLinear) || !ascends(sceneLinear)) {
    throw new RangeError(
      `Expected two ascending lists of positive knots of one length (2 or more) but received ${n} and ${sceneLinear.length}`,
    );
  }
  const file = fileLinear.map(Math.log2);
  const rawScene = sceneLinear.map(Math.log2);
  const shift = Math.log2(MID_GREY) - interpolate(file, rawScene, Math.log2(MID_GREY));
  const scene = rawScene.map((v) => v + shift);
  const mid = Math.log2(MID_GREY);
  const h = 0.05;
  return {
    toScene: (y) => (y <= 0 ? 0 : 2 ** interpolate(file, scene, Math.log2(Math.min(y, 1)))),
    toFile: (x) => (x <= 0 ? 0 : Math.min(1, 2 ** interpolate(scene, file, Math.log2(x)))),
    slopeAtMid: (2 * h) / (interpolate(file, scene, mid + h) - interpolate(file, scene, mid - h)),
  };
}

/** Piecewise linear; beyond the ends the end pieces go on. */
function interpolate(xs: readonly number[], ys: readonly number[], x: number): number {
  let lo = 0;
  let hi = xs.length - 1;
  while (hi - lo > 1) {
    const mid = (lo + hi) >> 1;
    if (xs[mid]! <= x) lo = mid;
    else hi = mid;
  }
  const t = (x - xs[lo]!) / (xs[hi]! - xs[lo]!);
  return ys[lo]! + t * (ys[hi]! - ys[lo]!);
}

/**
 * The default for camera files of which nothing else is known: shadow slope 1.6, Naka-Rushton shoulder,
 * ceiling 1.1.
 *
 * Where it comes from: on real exposure brackets one stop of light reads, in the mid-tones, as 1.24 to 1.75 stops
 * after plain sRGB decoding, median 1.48 over 26 brackets of a dozen cameras; the slope against level falls from
 * 1.6 three stops under mid-grey over 1.25 at mid-grey to 0.65 two stops above. This form gives 1.58, 1.34 and 0.55
 * there, a mean of 1.5 over the mid-tones, and puts white 3.4 stops above mid-grey (ISO 12232's saturation speed
 * asks for log2 7.8 = 2.96).
 */
export const ASSUMED_CAMERA_PARAMETERS: LogisticParameters = { shadowSlope: 1.6, shoulder: 1, ceilingLinear: 1.1 };
export const ASSUMED_CAMERA_CURVE: ToneCurve = logisticToneCurve(ASSUMED_CAMERA_PARAMETERS);

/** Slopes of 1.24 to 1.75 about 1.48 (most of 26 brackets) are taken as plus and minus 1.5 standard deviations. */
export const ASSUMED_CAMERA_UNCERTAINTY_STOPS = 0.11;
/** Phones and others that map tones locally have no one curve: 0.73 measured on one where cameras gave 1.48. */
export const LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS = 0.35;

/**
 * Whether a response stands for a camera that maps tones locally: it is known no better than such a camera allows, whatever it
 * was fitted to, since what one picture teaches does not hold for the next.
 */
export function mapsTonesLocally(response: { source: string; uncertaintyStops: number }): boolean {
  const isCurve = response.source === 'assumed' || response.source === 'calibrated' || response.source === 'learned';
  return isCurve && response.uncertaintyStops >= LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS;
}

/** Half-width of an interval that holds 90 % of a normal distribution, in standard deviations: Phi^-1(0.95). */
const HALF_WIDTH_90 = 1.645;
/** A camera without any shoulder: a bare power law of the median slope that real brackets showed. */
const NO_SHOULDER_SLOPE = 1.48;

/**
 * Standard uncertainty, in stops, of the difference between two levels read through a response.
 *
 * What is stated for one stop, times the difference. The assumed curve, moreover, undoes a shoulder that not every camera
 * has: the brighter a level, the more it hangs on that. What a camera without any would give is taken for the edge of
 * the 90 % interval.
 */
export function responseDoubtStops(
  response: { source: string; uncertaintyStops: number },
  levelAStops: number,
  levelBStops: number,
): number {
  const each = response.uncertaintyStops * (levelAStops - levelBStops);
  if (response.source !== 'assumed') return Math.abs(each);
  return Math.hypot(each, (withoutShoulder(levelAStops) - withoutShoulder(levelBStops)) / HALF_WIDTH_90);
}

/** How much darker the same file value is to a camera without a shoulder, above mid-grey; 0 below. */
function withoutShoulder(levelStops: number): number {
  if (levelStops <= 0) return 0;
  const file = ASSUMED_CAMERA_CURVE.toFile(MID_GREY * 2 ** levelStops);
  return levelStops - Math.log2(file / MID_GREY) / NO_SHOULDER_SLOPE;
}
