/** A picture of one channel, row-major, values mostly 0..1. */
export interface Field {
  widthPx: number;
  heightPx: number;
  values: Float32Array;
}

export const fieldOf = (like: Field, values: Float32Array): Field => ({ ...like, values });

/** Mean over a square of side 2 r + 1, cut at the edges of the picture. Time does not depend on r. */
export function boxMean({ widthPx: w, heightPx: h, values }: Field, radiusPx: number): Float32Array {
  const r = Math.max(0, Math.round(radiusPx));
  const rows = new Float32Array(w * h);
  for (let y = 0; y < h; y += 1) alongLine(values, rows, y * w, 1, w, r);
  const out = new Float32Array(w * h);
  for (let x = 0; x < w; x += 1) alongLine(rows, out, x, w, h, r);
  return out;
}

function alongLine(from: Float32Array, to: Float32Array, start: number, step: number, n: number, r: number): void {
  let sum = 0;
  for (let i = 0; i < Math.min(r, n); i += 1) sum += from[start + i * step] ?? 0;
  for (let i = 0; i < n; i += 1) {
    if (i + r < n) sum += from[start + (i + r) * step] ?? 0;
    if (i - r - 1 >= 0) sum -= from[start + (i - r - 1) * step] ?? 0;
    to[start + i * step] = sum / (Math.min(n - 1, i + r) - Math.max(0, i - r) + 1);
  }
}

/** Three box means, which come close to a Gaussian of the given standard deviation (central limit; common practice). */
export function blurred(field: Field, sigmaPx: number): Float32Array {
  // The variance of a box of side d is (d² - 1) / 12; three of them add up.
  const radiusPx = (Math.sqrt(4 * sigmaPx * sigmaPx + 1) - 1) / 2;
  let values = field.values;
  for (let pass = 0; pass < 3; pass += 1) values = boxMean(fieldOf(field, values), radiusPx);
  return values;
}

/**
 * Guided filter with a colour guide: inside every window the output is a linear function of the guide's colour, so that
 * the mask's edges move to the guide's own where it has any, and stay a soft step where it has none (He, Sun & Tang
 * 2013, IEEE Trans. Pattern Anal. Mach. Intell. 35:1397, equations 14 to 16; from memory).
 *
 * @param guide three channels of the mask's size
 * @param epsilon variance of the guide below which a window counts as flat
 */
export function guidedFilter(mask: Field, guide: readonly Field[], radiusPx: number, epsilon: number): Float32Array {
  const n = mask.values.length;
  const [r, g, b] = guide.map(({ values }) => values) as [Float32Array, Float32Array, Float32Array];
  const mean = (values: Float32Array): Float32Array => boxMean(fieldOf(mask, values), radiusPx);
  const meanOfProduct = (x: Float32Array, y: Float32Array): Float32Array => mean(x.map((v, i) => v * (y[i] ?? 0)));
  const p = mask.values;
  const [mr, mg, mb, mp] = [mean(r), mean(g), mean(b), mean(p)];
  const [rp, gp, bp] = [meanOfProduct(r, p), meanOfProduct(g, p), meanOfProduct(b, p)];
  const [rr, rg, rb] = [meanOfProduct(r, r), meanOfProduct(r, g), meanOfProduct(r, b)];
  const [gg, gb, bb] = [meanOfProduct(g, g), meanOfProduct(g, b), meanOfProduct(b, b)];
  const slopes = [new Float32Array(n), new Float32Array(n), new Float32Array(n)] as const;
  const offset = new Float32Array(n);
  for (let i = 0; i < n; i += 1) {
    const means = [mr[i] ?? 0, mg[i] ?? 0, mb[i] ?? 0] as const;
    const m = mp[i] ?? 0;
    const slope = solveSymmetric(
      [
        (rr[i] ?? 0) - means[0] * means[0] + epsilon,
        (rg[i] ?? 0) - means[0] * means[1],
        (rb[i] ?? 0) - means[0] * means[2],
        (gg[i] ?? 0) - means[1] * means[1] + epsilon,
        (gb[i] ?? 0) - means[1] * means[2],
        (bb[i] ?? 0) - means[2] * means[2] + epsilon,
      ],
      [(rp[i] ?? 0) - means[0] * m, (gp[i] ?? 0) - means[1] * m, (bp[i] ?? 0) - means[2] * m],
    );
    slopes.forEach((channel, c) => (channel[i] = slope[c] ?? 0));
    offset[i] = m - slope[0] * means[0] - slope[1] * means[1] - slope[2] * means[2];
  }
  const [ar, ag, ab, constant] = [mean(slopes[0]), mean(slopes[1]), mean(slopes[2]), mean(offset)];
  return constant.map((c, i) => {
    const value = (ar[i] ?? 0) * (r[i] ?? 0) + (ag[i] ?? 0) * (g[i] ?? 0) + (ab[i] ?? 0) * (b[i] ?? 0) + c;
    return Math.min(1, Math.max(0, value));
  });
}

type Triple = readonly [number, number, number];

/** x of M x = y, M symmetric and positive definite as [m00, m01, m02, m11, m12, m22]; by cofactors. */
function solveSymmetric(m: readonly [number, number, number, number, number, number], y: Triple): Triple {
  const [a, b, c, d, e, f] = m;
  const [c00, c01, c02] = [d * f - e * e, c * e - b * f, b * e - c * d];
  const [c11, c12, c22] = [a * f - c * c, b * c - a * e, a * d - b * b];
  const determinant = a * c00 + b * c01 + c * c02;
  return [
    (c00 * y[0] + c01 * y[1] + c02 * y[2]) / determinant,
    (c01 * y[0] + c11 * y[1] + c12 * y[2]) / determinant,
    (c02 * y[0] + c12 * y[1] + c22 * y[2]) / determinant,
  ];
}
