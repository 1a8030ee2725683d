import { boxMean, fieldOf, type Field } from './lift-mask-filters.js';

/**
 * How far a lift may fade, in the feather's standard deviations, along the person: whole up to the first, none from the
 * second on. Straight up a trunk a Gaussian has faded to 2 % where this begins. Ours.
 */
const REACH = { whole: 2, none: 3 } as const;

/**
 * Which pixels a region's lift can fade to without leaving the person, 0..1: a hand beside a thigh is near it through the
 * air, but far along arm and trunk. Pixels outside the person take the mean of the person's around them.
 *
 * @param person 1 inside
 * @param core the region, 1 inside; all of it in the person
 * @param edgePx how far outside the person the mask may reach
 */
export function reachOf(person: Field, core: Field, sigmaPx: number, edgePx: number): Float32Array {
  const steps = stepsWithin(person, core, Math.ceil(REACH.none * sigmaPx));
  const inside = person.values.map((one, i) => {
    const away = (steps[i] ?? Infinity) / sigmaPx;
    return one * Math.max(0, Math.min(1, (REACH.none - away) / (REACH.none - REACH.whole)));
  });
  const [sum, weight] = [boxMean(fieldOf(person, inside), edgePx), boxMean(person, edgePx)];
  return inside.map((value, i) => {
    if (person.values[i] === 1) return value;
    const w = weight[i] ?? 0;
    return w > 1e-6 ? Math.min(1, (sum[i] ?? 0) / w) : 0;
  });
}

/** Steps from the core inside the person, to any of eight neighbours; Infinity where `most` steps do not lead. */
function stepsWithin({ widthPx, heightPx, values: person }: Field, core: Field, most: number): Float32Array {
  const steps = new Float32Array(person.length).fill(Infinity);
  let edge: number[] = [];
  core.values.forEach((one, i) => {
    if (one !== 1) return;
    steps[i] = 0;
    edge.push(i);
  });
  for (let step = 1; step <= most && edge.length > 0; step += 1) {
    const next: number[] = [];
    for (const i of edge) {
      const x = i % widthPx;
      const y = (i - x) / widthPx;
      for (let v = Math.max(0, y - 1); v <= Math.min(heightPx - 1, y + 1); v += 1) {
        for (let u = Math.max(0, x - 1); u <= Math.min(widthPx - 1, x + 1); u += 1) {
          const to = v * widthPx + u;
          if (person[to] !== 1 || steps[to] !== Infinity) continue;
          steps[to] = step;
          next.push(to);
        }
      }
    }
    edge = next;
  }
  return steps;
}
