// AssemblyScript, compiled to WebAssembly SIMD by `npm run kernels` into cells.wasm.ts; not part of the TypeScript program.
// Work on planes of the working image, handed over a piece at a time; worker/measure/cells-kernel.ts lays out the memory.
// `tests/unit/cells.test.ts` holds the results to plain loops in doubles.

/** Added to a float below it, it leaves the nearest whole number in the low bits: conversion instructions cost many times more. */
const WHOLE: f32 = 8388608;

/** Places (up to 16,383) of four lights 0..1 (what is outside is clamped) in a table over their square root. */
function places(values: v128, steps: v128): v128 {
  const inside = f32x4.pmin(f32x4.pmax(values, f32x4.splat(0)), f32x4.splat(1));
  const whole = f32x4.add(f32x4.mul(f32x4.sqrt(inside), steps), f32x4.splat(WHOLE));
  return v128.and(whole, i32x4.splat(0x3fff));
}

/**
 * Luminance of cells, and the sRGB codes by which the file itself would show them.
 *
 * @param rgb cells x 3 floats: scene-linear light; 4 bytes more may be read
 * @param settings floats, four at a time: luminance of red, green, blue; linear sRGB (red, green, blue) of the file's red, of
 *   its green, of its blue; 1 / the largest light of the table
 * @param fileTable `steps` + 1 floats: scene-linear -> file-linear, over the square root of light / largest
 * @param codeTable `steps` + 1 bytes: linear -> sRGB code, over the square root
 * @param luminances cells floats
 * @param codes cells x 3 bytes
 */
export function displayCells(
  rgb: usize,
  cells: i32,
  settings: usize,
  tableSteps: i32,
  fileTable: usize,
  codeTable: usize,
  luminances: usize,
  codes: usize,
): void {
  const weights = v128.load(settings);
  const ofRed = v128.load(settings, 16);
  const ofGreen = v128.load(settings, 32);
  const ofBlue = v128.load(settings, 48);
  const share = v128.load32_splat(settings, 64);
  const steps = f32x4.splat(<f32>tableSteps);
  for (let i = 0; i < cells; i++, rgb += 12, luminances += 4, codes += 3) {
    const light = v128.load(rgb);
    const weighed = f32x4.mul(light, weights);
    const luminance = f32x4.extract_lane(weighed, 0) + f32x4.extract_lane(weighed, 1) + f32x4.extract_lane(weighed, 2);
    store<f32>(luminances, luminance > 0 ? luminance : 0);
    const inFile = i32x4.shl(places(f32x4.mul(light, share), steps), 2);
    const r = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 0));
    const g = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 1));
    const b = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 2));
    const shown = f32x4.add(f32x4.add(f32x4.mul(ofRed, r), f32x4.mul(ofGreen, g)), f32x4.mul(ofBlue, b));
    const inCodes = places(shown, steps);
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 0)));
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 1)), 1);
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 2)), 2);
  }
}

/** Codes through a table of 256 bytes, in place. */
export function replaceCodes(codes: usize, count: i32, table: usize): void {
  for (const end = codes + <usize>count; codes < end; codes++)
    store<u8>(codes, load<u8>(table + <usize>load<u8>(codes)));
}

/** Half the size of a picture: each code the rounded mean of two by two. `out`: height / 2 x width / 2 x 3. */
export function halveCodes(codes: usize, width: i32, height: i32, out: usize): void {
  const stride = <usize>width * 3;
  for (let y = 0; y < height >> 1; y++) {
    let p = codes + <usize>(2 * y) * stride;
    for (let x = 0; x < width >> 1; x++, p += 6, out += 3) {
      const q = p + stride;
      store<u8>(out, (<u32>load<u8>(p) + load<u8>(p, 3) + load<u8>(q) + load<u8>(q, 3) + 2) >> 2);
      store<u8>(out, (<u32>load<u8>(p, 1) + load<u8>(p, 4) + load<u8>(q, 1) + load<u8>(q, 4) + 2) >> 2, 1);
      store<u8>(out, (<u32>load<u8>(p, 2) + load<u8>(p, 5) + load<u8>(q, 2) + load<u8>(q, 5) + 2) >> 2, 2);
    }
  }
}

/** Added to a whole number below it, as the low bits of a float: no conversion. */
const WHOLE_BITS: i32 = 0x4b000000;

/** Red, green, blue of a pixel, each more by 2^23; the fourth is of its neighbour. */
function raisedColour(p: usize): v128 {
  const words = i32x4.extend_low_i16x8_u(i16x8.extend_low_i8x16_u(v128.load32_zero(p)));
  return v128.or(words, i32x4.splat(WHOLE_BITS));
}

/** A place among pixels as a whole number of 2^-32. */
function fixed(place: f64): i64 {
  return <i64>(place * 4294967296);
}

/** What a place is past a whole number, 0..1. */
function fractionOf(place: i64): f32 {
  return reinterpret<f32>(0x3f800000 | ((<u32>place) >> 9)) - 1;
}

/**
 * Reads a turned square of a picture into `size` x `size` x 3 floats, each the mean of one or two by two bilinear samples,
 * times `scale` plus `offset`. A sample outside the picture is black.
 *
 * @param codes height x width x 3 bytes; 1 more may be read
 * @param across step of the output to the right, and `down` downwards, in pixels of the picture
 * @param fine two by two samples a pixel
 * @param size a multiple of 4
 * @param out floats
 */
export function cropCodes(
  codes: usize,
  width: i32,
  height: i32,
  size: i32,
  across: f64,
  down: f64,
  centreX: f64,
  centreY: f64,
  fine: i32,
  scale: f32,
  offset: f32,
  out: usize,
): void {
  const stride = <usize>width * 3;
  const middle = 0.5 * <f64>(size - 1);
  const samples = fine ? 4 : 1;
  const weight = f32x4.splat(scale / <f32>samples);
  const offsets = f32x4.splat(offset);
  const lastX = (<i64>(width - 1)) << 32;
  const lastY = (<i64>(height - 1)) << 32;
  const stepX = fixed(across);
  const stepY = fixed(down);
  for (let y = 0; y < size; y++) {
    memory.fill(out, 0, <usize>size * 12);
    for (let k = 0; k < samples; k++) {
      const dx = (fine ? (k & 1 ? 0.25 : -0.25) : 0) - middle;
      const dy = <f64>y - middle + (fine ? (k & 2 ? 0.25 : -0.25) : 0);
      let px = fixed(centreX - down * dy - 0.5 + across * dx);
      let py = fixed(centreY + across * dy - 0.5 + down * dx);
      let to = out;
      for (let x = 0; x < size; x++, px += stepX, py += stepY, to += 12) {
        // No part of a pixel outside counts.
        if (<u64>px >= <u64>lastX || <u64>py >= <u64>lastY) continue;
        const p = codes + <usize>(py >> 32) * stride + <usize>(px >> 32) * 3;
        const right = f32x4.splat(fractionOf(px));
        const below = f32x4.splat(fractionOf(py));
        const upper = raisedColour(p);
        const lower = raisedColour(p + stride);
        const top = f32x4.mul(f32x4.sub(raisedColour(p + 3), upper), right);
        const bottom = f32x4.add(
          f32x4.sub(lower, upper),
          f32x4.sub(f32x4.mul(f32x4.sub(raisedColour(p + stride + 3), lower), right), top),
        );
        const colour = f32x4.add(f32x4.sub(upper, f32x4.splat(WHOLE)), f32x4.add(top, f32x4.mul(bottom, below)));
        store<f32>(to, load<f32>(to) + f32x4.extract_lane(colour, 0));
        store<f32>(to, load<f32>(to, 4) + f32x4.extract_lane(colour, 1), 4);
        store<f32>(to, load<f32>(to, 8) + f32x4.extract_lane(colour, 2), 8);
      }
    }
    for (const end = out + <usize>size * 12; out < end; out += 16) {
      v128.store(out, f32x4.add(f32x4.mul(v128.load(out), weight), offsets));
    }
  }
}

/**
 * Paints a square of `side` x `side` logits, turned, into a plane: bilinear between their middles, nothing beyond them.
 *
 * @param x0 first and last column and row that may be touched
 * @param startU place among the logits of the middle of pixel (0, 0), and the steps to the right; `stepV` is the step down
 *   of u, and `stepU` of v: a turn keeps lengths
 */
export function paintLogits(
  logits: usize,
  side: i32,
  plane: usize,
  width: i32,
  x0: i32,
  y0: i32,
  x1: i32,
  y1: i32,
  startU: f64,
  startV: f64,
  stepU: f64,
  stepV: f64,
): void {
  const last = (<i64>(side - 1)) << 32;
  const row = (<usize>side) << 2;
  const right = fixed(stepU);
  const turned = fixed(stepV);
  for (let y = y0; y <= y1; y++) {
    let u = fixed(startU - stepV * <f64>y + stepU * <f64>x0);
    let v = fixed(startV + stepU * <f64>y + stepV * <f64>x0);
    let to = plane + ((<usize>y * <usize>width + <usize>x0) << 2);
    for (let x = x0; x <= x1; x++, to += 4, u += right, v += turned) {
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

/** Adds the sixth powers of red, green and blue of the cells that count to three doubles; returns how many those are. */
export function addSixthPowers(
  rgb: usize,
  cells: i32,
  regions: usize,
  clippedShares: usize,
  mostClipped: f64,
  sums: usize,
): i32 {
  let red = load<f64>(sums);
  let green = load<f64>(sums, 8);
  let blue = load<f64>(sums, 16);
  let count = 0;
  for (let i = 0; i < cells; i++, rgb += 12, clippedShares += 4) {
    if (load<u8>(regions + <usize>i) != 0 || <f64>load<f32>(clippedShares) > mostClipped) continue;
    const r = <f64>load<f32>(rgb);
    const g = <f64>load<f32>(rgb, 4);
    const b = <f64>load<f32>(rgb, 8);
    const r3 = r * r * r;
    const g3 = g * g * g;
    const b3 = b * b * b;
    red += r3 * r3;
    green += g3 * g3;
    blue += b3 * b3;
    count++;
  }
  store<f64>(sums, red);
  store<f64>(sums, green, 8);
  store<f64>(sums, blue, 16);
  return count;
}

/** Marks (bytes) what is marked `shift` further on, too: 15 bytes more than `length` may be written, and read past that. */
export function spreadMarks(marks: usize, length: i32, shift: i32): void {
  for (const end = marks + <usize>length; marks < end; marks += 16) {
    v128.store(marks, v128.or(v128.load(marks), v128.load(marks + <usize>shift)));
  }
}

/** Marks (bytes) rows of `width` where a plane's value is more than `least`; planes and marks have their own strides, in values. */
export function markAbove(
  plane: usize,
  planeStride: i32,
  width: i32,
  height: i32,
  least: f32,
  marks: usize,
  marksStride: i32,
): void {
  for (let y = 0; y < height; y++) {
    let from = plane + ((<usize>y * <usize>planeStride) << 2);
    let to = marks + <usize>y * <usize>marksStride;
    for (const end = to + <usize>width; to < end; to++, from += 4) if (load<f32>(from) > least) store<u8>(to, 1);
  }
}

/**
 * Where nothing is marked: indices into an image of `imageWidth`, ascending.
 *
 * @param first index of the first mark
 * @param out width x height indices at most; returns how many
 */
export function unmarked(
  marks: usize,
  stride: i32,
  width: i32,
  height: i32,
  first: i32,
  imageWidth: i32,
  out: usize,
): i32 {
  const begin = out;
  for (let y = 0; y < height; y++) {
    const row = marks + <usize>y * <usize>stride;
    for (let x = 0; x < width; x++) {
      // Written always, kept where it counts: no branch to be guessed wrong.
      store<i32>(out, first + y * imageWidth + x);
      out += (<usize>(load<u8>(row + <usize>x) == 0)) << 2;
    }
  }
  return (<i32>(out - begin)) >> 2;
}
