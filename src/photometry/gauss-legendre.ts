export interface QuadratureRule {
  /** Places in -1..1. */
  nodes: readonly number[];
  /** Weights; they add to 2. */
  weights: readonly number[];
}

const rules = new Map<number, QuadratureRule>();

/**
 * Gauss-Legendre rule of so many nodes over -1..1: exact for polynomials up to degree 2 n - 1. The nodes are the
 * roots of the Legendre polynomial, found by Newton's method from the usual cosine guess. Standard numerical
 * analysis, from memory; the tests check it against the tabulated five-node rule.
 *
 * @param count whole number of nodes, 1 or more.
 */
export function gaussLegendre(count: number): QuadratureRule {
  const known = rules.get(count);
  if (known !== undefined) return known;
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let i = 0; i < count; i += 1) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (count + 0.5));
    let slope = 0;
    for (let round = 0; round < 100; round += 1) {
      const { value, derivative } = legendre(count, x);
      slope = derivative;
      const step = value / derivative;
      x -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes.push(x);
    weights.push(2 / ((1 - x * x) * slope * slope));
  }
  const rule = { nodes, weights };
  rules.set(count, rule);
  return rule;
}

/** Legendre polynomial P_n and its derivative inside -1..1, by the three-term recurrence. */
function legendre(degree: number, x: number): { value: number; derivative: number } {
  let before = 1;
  let value = x;
  for (let k = 2; k <= degree; k += 1) [before, value] = [value, ((2 * k - 1) * x * value - (k - 1) * before) / k];
  return { value, derivative: (degree * (x * value - before)) / (x * x - 1) };
}
