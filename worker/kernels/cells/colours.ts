// Colours of a region's pixels, smoothed; AssemblyScript.

/** Adds a pixel's colour times `sign` to the sums of its column: weight and red, green and blue, doubles. */
function addColour(column: usize, rgb: usize, sign: v128): void {
  const colour = v128.load(rgb);
  const red = f64x2.promote_low_f32x4(colour);
  const weightAndRed = v128.shuffle<f64>(f64x2.splat(1), red, 0, 2);
  const greenAndBlue = f64x2.promote_low_f32x4(v128.shuffle<f32>(colour, colour, 1, 2, 0, 0));
  v128.store(column, f64x2.add(v128.load(column), f64x2.mul(weightAndRed, sign)));
  v128.store(column, f64x2.add(v128.load(column, 16), f64x2.mul(greenAndBlue, sign)), 16);
}

function floored(value: f64, floor: f64): f64 {
  return value < floor ? floor : value;
}

/**
 * Colour of each pixel averaged with those of the list within `radius` (a square), as logarithms. Sums of columns go down with
 * the rows, and sums of those across.
 *
 * @param pixels indices into rows of `width`, ascending, all within columns from `left` on
 * @param rgb three floats a pixel, in the order of `pixels`; 4 bytes more are read
 * @param columns four doubles for each column from `left` to the last, and `radius` more; 0 at first
 * @param settings doubles: what red, green and blue of linear sRGB are made of, then luminance: three each; then the least light
 *   whose logarithm is taken
 * @param rg log2(red / green), bg log2(blue / green), logY log2(luminance): floats, in the order of `pixels`
 * @param weakest the least of the three channels themselves: doubles
 */
export function smoothColours(
  pixels: usize,
  count: i32,
  width: i32,
  left: i32,
  radius: i32,
  rgb: usize,
  columns: usize,
  settings: usize,
  rg: usize,
  bg: usize,
  logY: usize,
  weakest: usize,
): void {
  const least = load<f64>(settings, 96);
  const plus = f64x2.splat(1);
  const minus = f64x2.splat(-1);
  const end = pixels + ((<usize>count) << 2);
  // What enters the square from below, and what leaves it above.
  let entering = pixels;
  let enteringRgb = rgb;
  let leaving = pixels;
  let leavingRgb = rgb;
  let row = (load<i32>(pixels) / width) * width;
  while (pixels < end) {
    while (load<i32>(pixels) >= row + width) row += width;
    const behind = row + (radius + 1) * width;
    const before = row - radius * width;
    while (entering < end && load<i32>(entering) < behind) {
      addColour(columns + ((<usize>((load<i32>(entering) % width) - left)) << 5), enteringRgb, plus);
      entering += 4;
      enteringRgb += 12;
    }
    while (load<i32>(leaving) < before) {
      addColour(columns + ((<usize>((load<i32>(leaving) % width) - left)) << 5), leavingRgb, minus);
      leaving += 4;
      leavingRgb += 12;
    }
    let sumA = f64x2.splat(0);
    let sumB = f64x2.splat(0);
    // Columns from `from` to before `to` are in the sums.
    let from = 0;
    let to = 0;
    for (; pixels < end && load<i32>(pixels) < row + width; pixels += 4) {
      const x = load<i32>(pixels) - row - left;
      const first = x < radius ? 0 : x - radius;
      if (first >= to) {
        sumA = f64x2.splat(0);
        sumB = f64x2.splat(0);
        from = first;
        to = first;
      }
      for (; to <= x + radius; to++) {
        sumA = f64x2.add(sumA, v128.load(columns + ((<usize>to) << 5)));
        sumB = f64x2.add(sumB, v128.load(columns + ((<usize>to) << 5), 16));
      }
      for (; from < first; from++) {
        sumA = f64x2.sub(sumA, v128.load(columns + ((<usize>from) << 5)));
        sumB = f64x2.sub(sumB, v128.load(columns + ((<usize>from) << 5), 16));
      }
      const share = 1 / f64x2.extract_lane(sumA, 0);
      const red = f64x2.extract_lane(sumA, 1) * share;
      const green = f64x2.extract_lane(sumB, 0) * share;
      const blue = f64x2.extract_lane(sumB, 1) * share;
      const inGreen = Math.log2(floored(load<f64>(settings, 24) * red + load<f64>(settings, 32) * green + load<f64>(settings, 40) * blue, least)); // prettier-ignore
      const inRed = Math.log2(floored(load<f64>(settings) * red + load<f64>(settings, 8) * green + load<f64>(settings, 16) * blue, least)); // prettier-ignore
      const inBlue = Math.log2(floored(load<f64>(settings, 48) * red + load<f64>(settings, 56) * green + load<f64>(settings, 64) * blue, least)); // prettier-ignore
      const light = load<f64>(settings, 72) * red + load<f64>(settings, 80) * green + load<f64>(settings, 88) * blue;
      store<f32>(rg, <f32>(inRed - inGreen));
      store<f32>(bg, <f32>(inBlue - inGreen));
      store<f32>(logY, <f32>Math.log2(floored(light, least)));
      store<f64>(weakest, floored(Math.min(red, Math.min(green, blue)), least));
      rg += 4;
      bg += 4;
      logY += 4;
      weakest += 8;
    }
  }
}
