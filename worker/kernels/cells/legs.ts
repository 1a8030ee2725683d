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
 * Which of a person's pixels are nearest to a bone of a leg, apart by leg and foot.
 *
 * @param pixels indices into rows of `width`, ascending
 * @param line doubles: a point and a direction; what lies on the near side of it belongs to no bone. Then the box (left, top,
 *   right, bottom) outside which no capsule reaches
 * @param reach2 nor what is farther from all, squared
 * @param bones seven doubles each: a segment's five, its height along the leg at its start, and by how much that is more at its end
 * @param codes a byte a bone: its part; from `firstFoot` on a foot's
 * @param capsules six doubles each: what lies in one of those belongs to no bone
 * @param legs `count` indices, of which those of legs are filled; `legParts` their codes, `along` their heights along the leg and
 *   `aside` their distances from the bone, floats
 * @param feet and `footParts` the same of feet
 * @returns how many are of legs; of feet there are the whole number that is left at `feetCount`
 */
export function partLegs(
  pixels: usize,
  count: i32,
  width: i32,
  line: usize,
  reach2: f64,
  bones: usize,
  boneCount: i32,
  codes: usize,
  firstFoot: u8,
  capsules: usize,
  capsuleCount: i32,
  legs: usize,
  legParts: usize,
  along: usize,
  aside: usize,
  feet: usize,
  footParts: usize,
  feetCount: usize,
): i32 {
  const lineX = load<f64>(line);
  const lineY = load<f64>(line, 8);
  const downX = load<f64>(line, 16);
  const downY = load<f64>(line, 24);
  const boxLeft = load<f64>(line, 32);
  const boxTop = load<f64>(line, 40);
  const boxRight = load<f64>(line, 48);
  const boxBottom = load<f64>(line, 56);
  const firstLeg = legs;
  const firstOfFeet = feet;
  let row = 0;
  let y: f64 = 0.5;
  for (let n = 0; n < count; n++, pixels += 4) {
    const i = load<i32>(pixels);
    for (; i >= row + width; row += width) y += 1;
    const x = <f64>(i - row) + 0.5;
    if ((x - lineX) * downX + (y - lineY) * downY < 0) continue;
    let nearest = reach2;
    let best = -1;
    let bone = bones;
    for (let k = 0; k < boneCount; k++, bone += 56) {
      const d2 = distance2(bone, x, y);
      if (d2 < nearest) {
        nearest = d2;
        best = k;
      }
    }
    if (best < 0) continue;
    const nearArms = x > boxLeft && x < boxRight && y > boxTop && y < boxBottom;
    if (nearArms && inCapsule(capsules, capsuleCount, x, y)) continue;
    const code = load<u8>(codes + <usize>best);
    if (code >= firstFoot) {
      store<i32>(feet, i);
      store<u8>(footParts, code);
      feet += 4;
      footParts++;
      continue;
    }
    bone = bones + <usize>best * 56;
    store<i32>(legs, i);
    store<u8>(legParts, code);
    store<f32>(along, <f32>(load<f64>(bone, 40) + alongOf(bone, x, y) * load<f64>(bone, 48)));
    store<f32>(aside, <f32>Math.sqrt(nearest));
    legs += 4;
    legParts++;
    along += 4;
    aside += 4;
  }
  store<i32>(feetCount, (<i32>(feet - firstOfFeet)) >> 2);
  return (<i32>(legs - firstLeg)) >> 2;
}

/**
 * Which pixels lie in a trapezium and in no capsule.
 *
 * @param shape doubles: the middle of its top, the unit vector down, its height, half its width at the top and at the bottom
 * @param out `count` indices, of which those inside are filled; returns how many
 */
export function inTrapezium(
  pixels: usize,
  count: i32,
  width: i32,
  shape: usize,
  capsules: usize,
  capsuleCount: i32,
  out: usize,
): i32 {
  const begin = out;
  const topX = load<f64>(shape);
  const topY = load<f64>(shape, 8);
  const downX = load<f64>(shape, 16);
  const downY = load<f64>(shape, 24);
  const height = load<f64>(shape, 32);
  const halfTop = load<f64>(shape, 40);
  const halfBottom = load<f64>(shape, 48);
  let row = 0;
  let y: f64 = 0.5;
  for (let n = 0; n < count; n++, pixels += 4) {
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
    if (!inside) continue;
    store<i32>(out, i);
    out += 4;
  }
  return (<i32>(out - begin)) >> 2;
}
