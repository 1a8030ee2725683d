// The models' masks; AssemblyScript.

import { fixed, fractionOf } from './numbers';

/**
 * Paints a square of `side` x `side` logits, turned, into a plane: bilinear between their middles, nothing beyond them.
 *
 * @param plane height x width floats
 * @param startU place among the logits of the middle of pixel (0, 0), and the steps to the right; `stepV` is the step down
 *   of u, and `stepU` of v: a turn keeps lengths
 */
export function paintLogits(
  logits: usize,
  side: i32,
  plane: usize,
  width: i32,
  height: i32,
  startU: f64,
  startV: f64,
  stepU: f64,
  stepV: f64,
): void {
  const last = (<i64>(side - 1)) << 32;
  const row = (<usize>side) << 2;
  const right = fixed(stepU);
  const turned = fixed(stepV);
  let to = plane;
  for (let y = 0; y < height; y++) {
    let u = fixed(startU - stepV * <f64>y);
    let v = fixed(startV + stepU * <f64>y);
    for (let x = 0; x < width; x++, to += 4, u += right, v += turned) {
      if (<u64>u >= <u64>last || <u64>v >= <u64>last) continue;
      const fu = fractionOf(u);
      const fv = fractionOf(v);
      const p = logits + <usize>(v >> 32) * row + ((<usize>(u >> 32)) << 2);
      const q = p + row;
      const top = load<f32>(p) + (load<f32>(p, 4) - load<f32>(p)) * fu;
      const bottom = load<f32>(q) + (load<f32>(q, 4) - load<f32>(q)) * fu;
      store<f32>(to, top + (bottom - top) * fv);
    }
  }
}
