// Light of regions; AssemblyScript.

/** Bins are the top bits of a 32-bit float, 64 an octave, from 2^-20 to 2^8: as in worker/measure/light-tally.ts. */
const DROPPED_BITS: i32 = 17;
const FIRST_BIN: i32 = (127 - 20) << 6;
const BINS: u32 = 28 << 6;
/** A bin's tally: how many, in the upper bits, and the sum of the bits that its values do not share, in the lower 40. */
const ONE: u64 = 1 << 40;
const DROPPED: u32 = (1 << DROPPED_BITS) - 1;

/**
 * Adds values to a tally.
 *
 * @param values floats
 * @param tally `BINS` whole numbers of 64 bits, then sum (a double) and count (64 bits) of what is below them and of what is above
 */
export function tallyLight(values: usize, count: i32, tally: usize): void {
  for (const end = values + ((<usize>count) << 2); values < end; values += 4) {
    const bits = load<i32>(values);
    const bin = (bits >> DROPPED_BITS) - FIRST_BIN;
    if (<u32>bin < BINS) {
      const at = tally + ((<usize>bin) << 3);
      store<u64>(at, load<u64>(at) + (ONE | (<u64>((<u32>bits) & DROPPED))));
    } else {
      const at = tally + ((<usize>BINS) << 3) + (bin < 0 ? 0 : 16);
      store<f64>(at, load<f64>(at) + <f64>reinterpret<f32>(bits));
      store<u64>(at, load<u64>(at, 8) + 1, 8);
    }
  }
}

/**
 * Adds the cells of a row that are not marked: their luminance to a tally, and where nothing of a cell is clipped its colour to sums.
 *
 * @param marks `width` bytes
 * @param luminances and clippedShares: floats; rgb: three floats a cell
 * @param kept `width` floats of working room
 * @param sums doubles: red, green, blue, how many
 */
export function tallyUnmarked(
  marks: usize,
  width: i32,
  luminances: usize,
  rgb: usize,
  clippedShares: usize,
  kept: usize,
  tally: usize,
  sums: usize,
): i32 {
  let redAndGreen = v128.load(sums);
  let blue = v128.load64_zero(sums, 16);
  let unmarked = 0;
  let whole = 0;
  for (let x = 0; x < width; x++) {
    if (load<u8>(marks + <usize>x) != 0) continue;
    const cell = (<usize>x) << 2;
    store<i32>(kept + ((<usize>unmarked) << 2), load<i32>(luminances + cell));
    unmarked++;
    if (load<f32>(clippedShares + cell) > 0) continue;
    const colour = rgb + cell * 3;
    redAndGreen = f64x2.add(redAndGreen, f64x2.promote_low_f32x4(v128.load64_zero(colour)));
    blue = f64x2.add(blue, f64x2.promote_low_f32x4(v128.load32_zero(colour, 8)));
    whole++;
  }
  v128.store(sums, redAndGreen);
  store<f64>(sums, f64x2.extract_lane(blue, 0), 16);
  store<f64>(sums, load<f64>(sums, 24) + <f64>whole, 24);
  tallyLight(kept, unmarked, tally);
  return unmarked;
}
