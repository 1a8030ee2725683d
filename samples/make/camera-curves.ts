/**
 * Tone curves of invented cameras: sensor exposure h (an 18 % surface in correct light gives 0.18)
 * to the linear value that an sRGB decoder will read back (0..1). None is taken from any product.
 *
 * One closed form makes them all. With q(h) = h^g * (1 + (t/h)^n)^((g - s)/n), a power law of slope g that bends
 * to slope s below the toe point t, the curve is
 *
 *   y(h) = (1 + c) q / (q + c q(w))      with a shoulder, reaching 1 at h = w, c chosen so that y(0.18) = 0.18
 *   y(h) = 0.18 q / q(0.18)              without one, cut at 1
 *
 * g is solved so that d log y / d log h at 0.18 is the stated `slopeAtMid`: stops of file luminance
 * for one stop of light, measured after sRGB decoding.
 */
export interface CameraCurveSpec {
  description: string;
  /** Stops of sRGB-decoded luminance for one stop of light, at mid-grey. > 0. */
  slopeAtMid: number;
  /** Toe: below `atStops` (re mid-grey) the slope tends to `slope`. null: the slope stays. */
  toe: { atStops: number; slope: number; sharpness: number } | null;
  /** Shoulder: white (1.0) is reached at `whiteStops` re mid-grey, smoothly. null: cut at 1. */
  shoulder: { whiteStops: number } | null;
}

export interface CameraCurve extends CameraCurveSpec {
  /** Sensor exposure (>= 0) to the linear value 0..1 that the file encodes. Monotone. */
  toFileLinear(exposure: number): number;
  /** Inverse of `toFileLinear` on (0, 1); 0 gives 0, 1 gives the least exposure that is written as white. */
  toExposure(fileLinear: number): number;
}

const MID = 0.18;

function makeShape(spec: CameraCurveSpec, power: number) {
  const toePoint = spec.toe === null ? 0 : MID * 2 ** spec.toe.atStops;
  const q = (h: number): number => {
    if (spec.toe === null || h <= 0) return h <= 0 ? 0 : h ** power;
    const { slope, sharpness } = spec.toe;
    return h ** power * (1 + (toePoint / h) ** sharpness) ** ((power - slope) / sharpness);
  };
  const slopeOfQ = (h: number): number => {
    if (spec.toe === null) return power;
    const r = (toePoint / h) ** spec.toe.sharpness;
    return power - ((power - spec.toe.slope) * r) / (1 + r);
  };
  if (spec.shoulder === null) {
    return { white: Infinity, slopeAtMid: slopeOfQ(MID), y: (h: number) => Math.min(1, (MID * q(h)) / q(MID)) };
  }
  const white = MID * 2 ** spec.shoulder.whiteStops;
  const qWhite = q(white);
  const u = q(MID) / qWhite;
  // (1 + c) u / (u + c) = MID
  const c = ((1 - MID) * u) / (MID - u);
  const y = (h: number): number => {
    if (h >= white) return 1;
    const v = q(h) / qWhite;
    return ((1 + c) * v) / (v + c);
  };
  return { white, slopeAtMid: (slopeOfQ(MID) * c) / (u + c), y, usable: MID > u };
}

/** Builds a curve from its description. Throws RangeError when no such curve exists (too soft for its white point). */
export function cameraCurve(spec: CameraCurveSpec): CameraCurve {
  let low = 0.2;
  let high = 8;
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    const shape = makeShape(spec, middle);
    if (shape.usable === false || shape.slopeAtMid < spec.slopeAtMid) low = middle;
    else high = middle;
  }
  const shape = makeShape(spec, high);
  if (shape.usable === false || Math.abs(shape.slopeAtMid - spec.slopeAtMid) > 1e-6) {
    throw new RangeError(
      `no camera curve of slope ${spec.slopeAtMid} at mid-grey reaches white as described: ${spec.description}`,
    );
  }
  const toFileLinear = shape.y;
  const toExposure = (fileLinear: number): number => {
    if (!(fileLinear > 0)) return 0;
    let lowLog = -40;
    let highLog = 6;
    for (let i = 0; i < 70; i++) {
      const middle = (lowLog + highLog) / 2;
      if (toFileLinear(2 ** middle) < Math.min(fileLinear, 1)) lowLog = middle;
      else highLog = middle;
    }
    return 2 ** highLog;
  };
  return { ...spec, toFileLinear, toExposure };
}

/** Eight invented cameras, soft to hard, with and without toe and shoulder. `hall` made the sample shoot. */
export const CAMERA_CURVES = {
  hall: cameraCurve({
    description: 'typical: slope 1.45, shoulder to +2.96 stops, a mild toe',
    slopeAtMid: 1.45,
    toe: { atStops: -5, slope: 1.05, sharpness: 1.2 },
    shoulder: { whiteStops: 2.96 },
  }),
  'soft-shoulder': cameraCurve({
    description: 'soft: slope 1.2, shoulder, no toe',
    slopeAtMid: 1.2,
    toe: null,
    shoulder: { whiteStops: 2.96 },
  }),
  'soft-toe': cameraCurve({
    description: 'soft: slope 1.25, early toe, long shoulder',
    slopeAtMid: 1.25,
    toe: { atStops: -4, slope: 0.9, sharpness: 1.5 },
    shoulder: { whiteStops: 2.9 },
  }),
  'plain-power': cameraCurve({
    description: 'a bare power law of 1.45, no toe, no shoulder',
    slopeAtMid: 1.45,
    toe: null,
    shoulder: null,
  }),
  'middle-toe': cameraCurve({
    description: 'slope 1.5, toe, no shoulder',
    slopeAtMid: 1.5,
    toe: { atStops: -4.5, slope: 1, sharpness: 1.5 },
    shoulder: null,
  }),
  'middle-shoulder': cameraCurve({
    description: 'slope 1.55, shoulder, no toe',
    slopeAtMid: 1.55,
    toe: null,
    shoulder: { whiteStops: 2.8 },
  }),
  'hard-toe': cameraCurve({
    description: 'hard: slope 1.7, toe, shoulder',
    slopeAtMid: 1.7,
    toe: { atStops: -4.5, slope: 1.1, sharpness: 1.5 },
    shoulder: { whiteStops: 2.7 },
  }),
  'hard-crushed': cameraCurve({
    description: 'hard: slope 1.75, shadows pressed down, short shoulder',
    slopeAtMid: 1.75,
    toe: { atStops: -4, slope: 2.3, sharpness: 2 },
    shoulder: { whiteStops: 2.4 },
  }),
} as const satisfies Record<string, CameraCurve>;

export type CameraCurveName = keyof typeof CAMERA_CURVES;
export const CAMERA_CURVE_NAMES = Object.keys(CAMERA_CURVES) as CameraCurveName[];
