import type { CameraCurve } from './camera-curves.js';
import type { Random } from './random.js';

/** Sensor exposure at which the sensor is full: 18 % surface + 2.96 stops (ISO 12232 saturation-based speed: 12.7 % of full). */
export const SENSOR_FULL = 0.18 * 2 ** 2.96;
/** Electrons at saturation at ISO 100, and read noise, of an invented sensor (per output pixel). */
const FULL_WELL_ELECTRONS = 40_000;
const READ_NOISE_ELECTRONS = 6;

/** sRGB encoding, IEC 61966-2-1: linear 0..1 to code 0..255, rounded. */
export function linearToSrgbCode8(linear: number): number {
  const v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
  return Math.min(255, Math.max(0, Math.round(255 * v)));
}

const TABLE_SIZE = 16384;

/** Exposure to code, by a table on the square root of the exposure. */
function codeTable(curve: CameraCurve, top: number): Uint8Array {
  return Uint8Array.from({ length: TABLE_SIZE + 1 }, (_, i) =>
    linearToSrgbCode8(curve.toFileLinear(top * (i / TABLE_SIZE) ** 2)),
  );
}

/**
 * Sensor exposure to codes: shot and read noise (scaled with ISO), saturation, white-balance gains, tone curve per channel.
 * `exposure`: n x 3 linear, modified in place. `isoOverBase`: ISO / 100.
 */
export function expose(
  exposure: Float32Array,
  options: { iso: number; whiteBalance: readonly [number, number, number]; curve: CameraCurve; random: Random },
): Uint8Array {
  const fullElectrons = (FULL_WELL_ELECTRONS * 100) / options.iso;
  const perUnit = fullElectrons / SENSOR_FULL;
  const top = SENSOR_FULL * Math.max(...options.whiteBalance, 1);
  const table = codeTable(options.curve, top);
  const codes = new Uint8Array(exposure.length);
  for (let i = 0; i < exposure.length; i++) {
    const electrons = (exposure[i] ?? 0) * perUnit;
    const noisy = electrons + options.random.normal() * Math.sqrt(electrons + READ_NOISE_ELECTRONS ** 2);
    const level = Math.min(fullElectrons, Math.max(0, noisy)) / perUnit;
    const balanced = level * (options.whiteBalance[i % 3] ?? 1);
    codes[i] = table[Math.min(TABLE_SIZE, Math.round(Math.sqrt(balanced / top) * TABLE_SIZE))] ?? 255;
  }
  return codes;
}
