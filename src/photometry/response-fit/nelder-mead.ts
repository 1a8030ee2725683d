/**
 * Downhill simplex (Nelder & Mead 1965, Comput. J. 7:308; from memory) with the usual coefficients 1, 2, 1/2, 1/2.
 * Deterministic; returns the best point found in `iterations` steps.
 */
export function minimiseSimplex(
  cost: (x: readonly number[]) => number,
  start: readonly number[],
  step: readonly number[],
  iterations = 300,
): { x: number[]; cost: number } {
  const at = (x: number[]) => ({ x, cost: cost(x) });
  const n = start.length;
  let simplex = [at([...start]), ...start.map((_, i) => at(start.map((v, j) => v + (i === j ? step[i]! : 0))))];
  for (let it = 0; it < iterations; it++) {
    simplex.sort((a, b) => a.cost - b.cost);
    const best = simplex[0]!;
    const worst = simplex[n]!;
    if (Math.abs(worst.cost - best.cost) <= 1e-12 * (Math.abs(best.cost) + 1e-12)) break;
    const centre = start.map((_, j) => simplex.slice(0, n).reduce((s, v) => s + v.x[j]!, 0) / n);
    const along = (k: number) => at(centre.map((c, j) => c + k * (worst.x[j]! - c)));
    const reflected = along(-1);
    if (reflected.cost < best.cost) {
      const expanded = along(-2);
      simplex[n] = expanded.cost < reflected.cost ? expanded : reflected;
    } else if (reflected.cost < simplex[n - 1]!.cost) {
      simplex[n] = reflected;
    } else {
      const contracted = along(0.5);
      if (contracted.cost < worst.cost) simplex[n] = contracted;
      else simplex = simplex.map((v) => at(v.x.map((c, j) => (c + best.x[j]!) / 2)));
    }
  }
  simplex.sort((a, b) => a.cost - b.cost);
  return simplex[0]!;
}
