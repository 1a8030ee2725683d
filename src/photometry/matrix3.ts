import { StopledgerError } from '../errors.js';

/** 3 x 3, row-major. */
export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number];
export type Vector3 = readonly [number, number, number];

/** Matrix times column vector. */
export function multiplyVector(m: Matrix3, [x, y, z]: Vector3): [number, number, number] {
  return [m[0] * x + m[1] * y + m[2] * z, m[3] * x + m[4] * y + m[5] * z, m[6] * x + m[7] * y + m[8] * z];
}

/** a times b: first b is applied, then a. */
export function multiplyMatrix(a: Matrix3, b: Matrix3): Matrix3 {
  const first = multiplyVector(a, [b[0], b[3], b[6]]);
  const second = multiplyVector(a, [b[1], b[4], b[7]]);
  const third = multiplyVector(a, [b[2], b[5], b[8]]);
  return [first[0], second[0], third[0], first[1], second[1], third[1], first[2], second[2], third[2]];
}

/** @throws quantity-out-of-range for a matrix that has no inverse. */
export function invertMatrix([a, b, c, d, e, f, g, h, i]: Matrix3): Matrix3 {
  const A = e * i - f * h;
  const B = f * g - d * i;
  const C = d * h - e * g;
  const determinant = a * A + b * B + c * C;
  if (!Number.isFinite(determinant) || Math.abs(determinant) < 1e-15)
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected a matrix with an inverse, its determinant is ${determinant}`,
    );
  return [
    A / determinant,
    (c * h - b * i) / determinant,
    (b * f - c * e) / determinant,
    B / determinant,
    (a * i - c * g) / determinant,
    (c * d - a * f) / determinant,
    C / determinant,
    (b * g - a * h) / determinant,
    (a * e - b * d) / determinant,
  ];
}
