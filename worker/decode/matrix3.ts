import type { Matrix3 } from './decoded-frame.js';

export type Vector3 = readonly [number, number, number];

/** a x b, both row-major. */
export function multiplyMatrix3(a: Matrix3, b: Matrix3): Matrix3 {
  const cell = (row: number, column: number): number =>
    at(a, row, 0) * at(b, 0, column) + at(a, row, 1) * at(b, 1, column) + at(a, row, 2) * at(b, 2, column);
  return matrixFromCells(cell);
}

export function transformVector3(m: Matrix3, v: Vector3): Vector3 {
  return [
    m[0] * v[0] + m[1] * v[1] + m[2] * v[2],
    m[3] * v[0] + m[4] * v[1] + m[5] * v[2],
    m[6] * v[0] + m[7] * v[1] + m[8] * v[2],
  ];
}

/** The inverse, or null when the matrix has none (determinant under 1e-9, or not finite). */
export function invertMatrix3(m: Matrix3): Matrix3 | null {
  const [a, b, c, d, e, f, g, h, i] = m;
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (!Number.isFinite(determinant) || Math.abs(determinant) < 1e-9) return null;
  const s = 1 / determinant;
  return [
    s * (e * i - f * h),
    s * (c * h - b * i),
    s * (b * f - c * e),
    s * (f * g - d * i),
    s * (a * i - c * g),
    s * (c * d - a * f),
    s * (d * h - e * g),
    s * (b * g - a * h),
    s * (a * e - b * d),
  ];
}

/** Scales column k by scales[k]. */
export function scaleColumns(m: Matrix3, scales: Vector3): Matrix3 {
  return matrixFromCells((row, column) => at(m, row, column) * (scales[column] ?? 0));
}

function matrixFromCells(cell: (row: number, column: number) => number): Matrix3 {
  return [cell(0, 0), cell(0, 1), cell(0, 2), cell(1, 0), cell(1, 1), cell(1, 2), cell(2, 0), cell(2, 1), cell(2, 2)];
}

function at(m: Matrix3, row: number, column: number): number {
  return m[row * 3 + column] ?? 0;
}
