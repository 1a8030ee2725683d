import { linearToSrgbEncoded, srgbEncodedToLinear } from '../srgb.js';
import { knotToneCurve, type ToneCurve } from '../tone-response.js';
import type { Bracket } from './bracket.js';

/** Levels of the code scale at which the response is found; the published method uses all 256. */
const LEVELS = 64;
/** Smoothness for 64 levels; the published default for 256 is 30 and scales with the square of the level spacing. */
const SMOOTHNESS = 30 / 16;
const MOST_SITES = 200;

/**
 * The response by linear least squares with a smoothness term, no form assumed: Debevec & Malik, "Recovering High
 * Dynamic Range Radiance Maps from Photographs", SIGGRAPH 1997, eq. 3 (from memory, checked against the objective
 * printed in public re-implementations): minimise the sum of {w (g(Z) - ln E - ln t)}^2 + lambda sum of {w g''}^2.
 * The middle level is fixed at 0. Readings between two levels are shared linearly between them.
 * Returns null when the result is not monotone where it was seen.
 */
export function fitDebevecMalik(bracket: Bracket): ToneCurve | null {
  const stride = Math.max(1, Math.floor(bracket.sites.length / MOST_SITES));
  const sites = bracket.sites.filter((_, i) => i % stride === 0);
  const n = LEVELS + sites.length;
  const a = Array.from({ length: n }, () => new Float64Array(n));
  const b = new Float64Array(n);
  const addRow = (terms: readonly (readonly [number, number])[], value: number) => {
    for (const [i, u] of terms) {
      b[i]! += u * value;
      for (const [j, v] of terms) a[i]![j]! += u * v;
    }
  };
  const seen = new Uint8Array(LEVELS);
  sites.forEach((site, s) => {
    for (const r of site) {
      const z = linearToSrgbEncoded(r.fileLinear) * (LEVELS - 1);
      const lo = Math.min(LEVELS - 2, Math.floor(z));
      const t = z - lo;
      seen[lo] = 1;
      seen[lo + 1] = 1;
      const w = r.weight;
      addRow(
        [
          [lo, w * (1 - t)],
          [lo + 1, w * t],
          [LEVELS + s, -w],
        ],
        w * bracket.exposureStops[r.frame]!,
      );
    }
  });
  addRow([[LEVELS >> 1, 1]], 0);
  for (let k = 1; k + 1 < LEVELS; k++) {
    const w = Math.sqrt(SMOOTHNESS) * 2 * Math.min(k / (LEVELS - 1), 1 - k / (LEVELS - 1));
    addRow(
      [
        [k - 1, w],
        [k, -2 * w],
        [k + 1, w],
      ],
      0,
    );
  }
  // Levels and sites that nothing ties down stay where they are.
  for (let i = 0; i < n; i++) a[i]![i]! += 1e-9;
  const g = solveCholesky(a, b);
  if (!g) return null;

  const file: number[] = [];
  const scene: number[] = [];
  for (let k = 1; k < LEVELS - 1; k++) {
    if (seen[k] !== 1) continue;
    const x = 2 ** g[k]!;
    if (scene.length > 0 && !(x > scene.at(-1)!)) return null;
    file.push(srgbEncodedToLinear(k / (LEVELS - 1)));
    scene.push(x);
  }
  return file.length >= 4 ? knotToneCurve(file, scene) : null;
}

/** Solves a x = b for symmetric positive definite a (overwritten); null when it is not. */
function solveCholesky(a: Float64Array[], b: Float64Array): Float64Array | null {
  const n = b.length;
  for (let j = 0; j < n; j++) {
    const row = a[j]!;
    let d = row[j]!;
    for (let k = 0; k < j; k++) d -= row[k]! * row[k]!;
    if (!(d > 0)) return null;
    const root = Math.sqrt(d);
    row[j] = root;
    for (let i = j + 1; i < n; i++) {
      const other = a[i]!;
      let s = other[j]!;
      for (let k = 0; k < j; k++) s -= other[k]! * row[k]!;
      other[j] = s / root;
    }
  }
  const x = Float64Array.from(b);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) x[i]! -= a[i]![k]! * x[k]!;
    x[i]! /= a[i]![i]!;
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) x[i]! -= a[k]![i]! * x[k]!;
    x[i]! /= a[i]![i]!;
  }
  return x;
}
