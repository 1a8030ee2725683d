import { requirePositive } from './checks.js';

export type ScaleStep = 'third' | 'half';

export interface ScaleValue {
  /** The value the scale stands for; the value as written when it is on no scale. */
  exact: number;
  scale: ScaleStep | null;
}

type ScalePoint = readonly [nominal: number, exact: number];
type Scale = readonly ScalePoint[];

/**
 * How far, in stops, a written value may stand from a nominal one to count as that one. Written values carry
 * three digits or so (1/60 as 0.0167 is 0.003 off); the nearest neighbours of the third and half scales taken
 * together stand 0.089 stop apart (f/3.2, f/3.3), so 0.03 cannot confuse two of them.
 */
export const NOMINAL_TOLERANCE_STOPS = 0.03;

const range = (first: number, nominals: readonly number[], exactOf: (step: number) => number): Scale =>
  nominals.map((nominal, index) => [nominal, exactOf(first + index)]);

/** f-numbers, exact 2^(k/6) in third stops and 2^(k/4) in half stops. Series as engraved; ISO 517 not read. */
const F_THIRD = range(
  -1,
  [
    0.9, 1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18,
    20, 22, 25, 29, 32, 36, 40, 45, 51, 57, 64,
  ],
  (step) => 2 ** (step / 6),
);
const F_HALF = range(
  0,
  [1, 1.2, 1.4, 1.7, 2, 2.4, 2.8, 3.3, 4, 4.8, 5.6, 6.7, 8, 9.5, 11, 13, 16, 19, 22, 27, 32, 38, 45, 54, 64],
  (step) => 2 ** (step / 4),
);

/** Shutter times from 30 s, exact 2^(-k/3) and 2^(-k/2) seconds. Series from memory; ISO 516 not read. */
const T_THIRD: Scale = [
  ...range(
    -15,
    [
      30,
      25,
      20,
      15,
      13,
      10,
      8,
      6,
      5,
      4,
      3.2,
      2.5,
      2,
      1.6,
      1.3,
      1,
      0.8,
      0.6,
      0.5,
      0.4,
      0.3,
      1 / 4,
      1 / 5,
      1 / 6,
      1 / 8,
      1 / 10,
      1 / 13,
      1 / 15,
      1 / 20,
      1 / 25,
      1 / 30,
      1 / 40,
      1 / 50,
      1 / 60,
      1 / 80,
      1 / 100,
      1 / 125,
      1 / 160,
      1 / 200,
      1 / 250,
      1 / 320,
      1 / 400,
      1 / 500,
      1 / 640,
      1 / 800,
      1 / 1000,
      1 / 1250,
      1 / 1600,
      1 / 2000,
      1 / 2500,
      1 / 3200,
      1 / 4000,
      1 / 5000,
      1 / 6400,
      1 / 8000,
      1 / 10000,
      1 / 12800,
      1 / 16000,
      1 / 20000,
      1 / 25600,
      1 / 32000,
    ],
    (step) => 2 ** (-step / 3),
  ),
  // Other spellings of the same three steps.
  [1 / 1.3, 2 ** (-1 / 3)],
  [1 / 1.6, 2 ** (-2 / 3)],
  [1 / 3, 2 ** (-5 / 3)],
];
const T_HALF: Scale = [
  ...range(
    -10,
    [
      30,
      20,
      15,
      10,
      8,
      6,
      4,
      3,
      2,
      1.5,
      1,
      0.7,
      0.5,
      1 / 3,
      1 / 4,
      1 / 6,
      1 / 8,
      1 / 10,
      1 / 15,
      1 / 20,
      1 / 30,
      1 / 45,
      1 / 60,
      1 / 90,
      1 / 125,
      1 / 180,
      1 / 250,
      1 / 350,
      1 / 500,
      1 / 750,
      1 / 1000,
      1 / 1500,
      1 / 2000,
      1 / 3000,
      1 / 4000,
      1 / 6000,
      1 / 8000,
      1 / 12000,
      1 / 16000,
    ],
    (step) => 2 ** (-step / 2),
  ),
  [0.3, 2 ** (-3 / 2)],
];

/** ISO speeds, exact 100 x 2^(k/3) and 100 x 2^(k/2). Series from memory; ISO 12232's table not read. */
const ISO_THIRD = range(
  -9,
  [
    12, 16, 20, 25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500,
    3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000, 40000, 51200, 64000, 80000, 102400, 128000,
    160000, 204800, 256000, 320000, 409600,
  ],
  (step) => 100 * 2 ** (step / 3),
);
const ISO_HALF = range(
  -2,
  [50, 70, 100, 140, 200, 280, 400, 560, 800, 1100, 1600, 2200, 3200, 4500, 6400, 9000, 12800],
  (step) => 100 * 2 ** (step / 2),
);

/**
 * The exact f-number that a written one stands for: f/11 -> 11.3137, f/5.6 -> 5.6569. Full stops are part of
 * both scales. "13" and "1.2" stand on both the third and the half scale with different values (12.699 or
 * 13.454; 1.260 or 1.189): the preferred scale decides, third unless the caller says half, since third stops
 * are what cameras are set to as they come.
 *
 * @throws quantity-out-of-range unless above 0.
 */
export function exactFNumber(fNumber: number, prefer: ScaleStep = 'third'): ScaleValue {
  return snap(requirePositive('fNumber', fNumber), 2, prefer, F_THIRD, F_HALF);
}

/**
 * The exact exposure time in seconds that a written one stands for: 1/60 -> 1/64, 30 -> 32. 20 s, 10 s, 6 s,
 * 1/3, 1/6, 1/10 and 1/20 stand on both scales with different values; the preferred scale decides.
 *
 * @throws quantity-out-of-range unless above 0.
 */
export function exactExposureTimeSeconds(exposureTimeSeconds: number, prefer: ScaleStep = 'third'): ScaleValue {
  return snap(requirePositive('exposureTimeSeconds', exposureTimeSeconds), 1, prefer, T_THIRD, T_HALF);
}

/**
 * The exact ISO speed that a written one stands for: 160 -> 158.740, 1250 -> 1269.921.
 *
 * @throws quantity-out-of-range unless above 0.
 */
export function exactIso(iso: number, prefer: ScaleStep = 'third'): ScaleValue {
  return snap(requirePositive('iso', iso), 1, prefer, ISO_THIRD, ISO_HALF);
}

function snap(written: number, stopsPerOctave: number, prefer: ScaleStep, third: Scale, half: Scale): ScaleValue {
  const order: readonly (readonly [ScaleStep, Scale])[] =
    prefer === 'third'
      ? [
          ['third', third],
          ['half', half],
        ]
      : [
          ['half', half],
          ['third', third],
        ];
  for (const [scale, points] of order) {
    const point = points.find(
      ([nominal]) => Math.abs(Math.log2(written / nominal)) * stopsPerOctave <= NOMINAL_TOLERANCE_STOPS,
    );
    if (point !== undefined) return { exact: point[1], scale };
  }
  return { exact: written, scale: null };
}
