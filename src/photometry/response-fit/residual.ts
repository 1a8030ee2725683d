import type { ToneCurve } from '../tone-response.js';
import type { Bracket, Site } from './bracket.js';

/**
 * How badly a curve explains a bracket: at every site, the light (log2 of scene minus exposure) should be the same in
 * all frames. Returns the weighted Huber loss per reading (stops squared), knee at 0.15 stop so that what moved does not rule.
 */
export function bracketLoss(curve: ToneCurve, bracket: Bracket): number {
  const knee = 0.15;
  let loss = 0;
  let total = 0;
  for (const site of bracket.sites) {
    const { lights, mean } = siteLight(curve, site, bracket.exposureStops);
    site.forEach((r, i) => {
      const e = Math.abs(lights[i]! - mean);
      loss += r.weight * (e < knee ? e * e : 2 * knee * e - knee * knee);
      total += r.weight;
    });
  }
  return total > 0 ? loss / total : Infinity;
}

/** Spread of one site's light about its weighted mean, in stops. */
export function siteSpreadStops(curve: ToneCurve, site: Site, exposureStops: readonly number[]): number {
  const { lights, mean } = siteLight(curve, site, exposureStops);
  let sum = 0;
  let weights = 0;
  site.forEach((r, i) => {
    sum += r.weight * (lights[i]! - mean) ** 2;
    weights += r.weight;
  });
  return Math.sqrt(sum / weights);
}

/** Light at a site as each frame tells it (log2 of scene minus exposure), and the weighted mean. */
function siteLight(curve: ToneCurve, site: Site, exposureStops: readonly number[]): { lights: number[]; mean: number } {
  const lights = site.map((r) => Math.log2(curve.toScene(r.fileLinear)) - exposureStops[r.frame]!);
  let sum = 0;
  let weights = 0;
  site.forEach((r, i) => {
    sum += r.weight * lights[i]!;
    weights += r.weight;
  });
  return { lights, mean: sum / weights };
}

export interface StepCheck {
  fromFrame: number;
  toFrame: number;
  trueStops: number;
  measuredStops: number;
  sites: number;
}

/** Measured against true stops between neighbouring frames: the median over the sites seen in both. */
export function stepChecks(curve: ToneCurve, bracket: Bracket, frames: readonly number[]): StepCheck[] {
  const rows: StepCheck[] = [];
  for (let i = 0; i + 1 < frames.length; i++) {
    const [from, to] = [frames[i]!, frames[i + 1]!];
    const ratios: number[] = [];
    for (const site of bracket.sites) {
      const a = site.find((r) => r.frame === from);
      const b = site.find((r) => r.frame === to);
      if (a && b) ratios.push(Math.log2(curve.toScene(b.fileLinear) / curve.toScene(a.fileLinear)));
    }
    if (ratios.length < 30) continue;
    ratios.sort((x, y) => x - y);
    rows.push({
      fromFrame: from,
      toFrame: to,
      trueStops: bracket.exposureStops[to]! - bracket.exposureStops[from]!,
      measuredStops: ratios[ratios.length >> 1]!,
      sites: ratios.length,
    });
  }
  return rows;
}
