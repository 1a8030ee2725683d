import { requirePositive } from './checks.js';
import { F_HALF, F_THIRD, ISO_HALF, ISO_THIRD, T_HALF, T_THIRD, type Scale } from './nominal-series.js';

export type ScaleStep = 'third' | 'half';

export interface ScaleValue {
  /** The value the scale stands for; the value as written when it is on no scale. */
  exact: number;
  scale: ScaleStep | null;
}

/**
 * How far, in stops, a written value may stand from a nominal one to count as that one. Written values carry
 * three digits or so (1/60 as 0.0167 is 0.003 off); the nearest neighbours of the third and half scales taken
 * together stand 0.089 stop apart (f/3.2, f/3.3), so 0.03 cannot confuse two of them.
 */
export const NOMINAL_TOLERANCE_STOPS = 0.03;

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
