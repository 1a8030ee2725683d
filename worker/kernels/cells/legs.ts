// Legs, trunk and arms among a person's pixels; AssemblyScript.

/** How far along a segment (its start, its extent, 1 / its length squared) a point lies: 0 at its start, 1 at its end. */
function alongOf(segment: usize, x: f64, y: f64): f64 {
  const fromX = x - load<f64>(segment);
  const fromY = y - load<f64>(segment, 8);
  const along = (fromX * load<f64>(segment, 16) + fromY * load<f64>(segment, 24)) * load<f64>(segment, 32);
  return along < 0 ? 0 : along > 1 ? 1 : along;
}

/** Squared distance of a point to a segment. */
function distance2(segment: usize, x: f64, y: f64): f64 {
  const along = alongOf(segment, x, y);
  const ex = x - load<f64>(segment) - along * load<f64>(segment, 16);
  const ey = y - load<f64>(segment, 8) - along * load<f64>(segment, 24);
  return ex * ex + ey * ey;
}

/** Whether a point lies in one of the capsules: a segment of five doubles each, then the squared radius. */
function inCapsule(capsules: usize, count: i32, x: f64, y: f64): bool {
  for (let k = 0; k < count; k++, capsules += 48) {
    if (distance2(capsules, x, y) < load<f64>(capsules, 40)) return true;
  }
  return false;
}

/**
 * Which segment each pixel is nearest to.
 *
 * @param pixels indices into rows of `width`, ascending
 * @param line doubles: a point and a direction; what lies on the near side of it belongs to no segment
 * @param reach2 nor what is farther from all, squared
 * @param segments five doubles each; `capsules` six each: what lies in one of those belongs to no segment
 * @param out a byte a pixel: the segment, or 255
 * @param places a pixel: two doubles, how far along its segment, and the distance from it; kept as it was where there is none
 */
export function nearestSegments(
  pixels: usize,
  count: i32,
  width: i32,
  line: usize,
  reach2: f64,
  segments: usize,
  segmentCount: i32,
  capsules: usize,
  capsuleCount: i32,
  out: usize,
  places: usize,
): void {
  const lineX = load<f64>(line);
  const lineY = load<f64>(line, 8);
  const downX = load<f64>(line, 16);
  const downY = load<f64>(line, 24);
  let row = 0;
  let y: f64 = 0.5;
  for (let n = 0; n < count; n++, pixels += 4, out++, places += 16) {
    const i = load<i32>(pixels);
    for (; i >= row + width; row += width) y += 1;
    const x = <f64>(i - row) + 0.5;
    store<u8>(out, 255);
    if ((x - lineX) * downX + (y - lineY) * downY < 0) continue;
    let nearest = reach2;
    let best = 255;
    let segment = segments;
    for (let k = 0; k < segmentCount; k++, segment += 40) {
      const d2 = distance2(segment, x, y);
      if (d2 < nearest) {
        nearest = d2;
        best = k;
      }
    }
    if (best == 255 || inCapsule(capsules, capsuleCount, x, y)) continue;
    store<u8>(out, best);
    store<f64>(places, alongOf(segments + <usize>best * 40, x, y));
    store<f64>(places, Math.sqrt(nearest), 8);
  }
}

/**
 * Which pixels lie in a trapezium and in no capsule.
 *
 * @param shape doubles: the middle of its top, the unit vector down, its height, half its width at the top and at the bottom
 * @param out a byte a pixel: 1 inside
 */
export function inTrapezium(
  pixels: usize,
  count: i32,
  width: i32,
  shape: usize,
  capsules: usize,
  capsuleCount: i32,
  out: usize,
): void {
  const topX = load<f64>(shape);
  const topY = load<f64>(shape, 8);
  const downX = load<f64>(shape, 16);
  const downY = load<f64>(shape, 24);
  const height = load<f64>(shape, 32);
  const halfTop = load<f64>(shape, 40);
  const halfBottom = load<f64>(shape, 48);
  let row = 0;
  let y: f64 = 0.5;
  for (let n = 0; n < count; n++, pixels += 4, out++) {
    const i = load<i32>(pixels);
    for (; i >= row + width; row += width) y += 1;
    const x = <f64>(i - row) + 0.5;
    const dx = x - topX;
    const dy = y - topY;
    const t = (dx * downX + dy * downY) / height;
    const inside =
      t >= 0 &&
      t <= 1 &&
      Math.abs(dx * downY - dy * downX) <= halfTop + t * (halfBottom - halfTop) &&
      !inCapsule(capsules, capsuleCount, x, y);
    store<u8>(out, inside ? 1 : 0);
  }
}
