// What is nobody's; AssemblyScript.

/** Adds the sixth powers of red, green and blue of the cells that count to three doubles; returns how many those are. */
export function addSixthPowers(
  rgb: usize,
  cells: i32,
  regions: usize,
  clippedShares: usize,
  mostClipped: f64,
  sums: usize,
): i32 {
  let redAndGreen = v128.load(sums);
  let blue = v128.load64_zero(sums, 16);
  let count = 0;
  for (let i = 0; i < cells; i++, rgb += 12, clippedShares += 4) {
    if (load<u8>(regions + <usize>i) != 0 || <f64>load<f32>(clippedShares) > mostClipped) continue;
    const rg = f64x2.promote_low_f32x4(v128.load64_zero(rgb));
    const b = f64x2.promote_low_f32x4(v128.load32_zero(rgb, 8));
    const rg3 = f64x2.mul(f64x2.mul(rg, rg), rg);
    const b3 = f64x2.mul(f64x2.mul(b, b), b);
    redAndGreen = f64x2.add(redAndGreen, f64x2.mul(rg3, rg3));
    blue = f64x2.add(blue, f64x2.mul(b3, b3));
    count++;
  }
  v128.store(sums, redAndGreen);
  store<f64>(sums, f64x2.extract_lane(blue, 0), 16);
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
  const least4 = f32x4.splat(least);
  for (let y = 0; y < height; y++) {
    let from = plane + ((<usize>y * <usize>planeStride) << 2);
    let to = marks + <usize>y * <usize>marksStride;
    const end = to + <usize>width;
    for (; to + 16 <= end; to += 16, from += 64) {
      const first = i16x8.narrow_i32x4_s(f32x4.gt(v128.load(from), least4), f32x4.gt(v128.load(from, 16), least4));
      const second = i16x8.narrow_i32x4_s(f32x4.gt(v128.load(from, 32), least4), f32x4.gt(v128.load(from, 48), least4));
      const above = v128.and(i8x16.narrow_i16x8_s(first, second), i8x16.splat(1));
      v128.store(to, v128.or(v128.load(to), above));
    }
    for (; to < end; to++, from += 4) if (load<f32>(from) > least) store<u8>(to, 1);
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
