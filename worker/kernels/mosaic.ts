// AssemblyScript, compiled to WebAssembly SIMD by `npm run kernels` into mosaic.wasm.ts; not part of the TypeScript
// program. The layout of memory is made by worker/decode/mosaic-cells.ts; `tests/unit/mosaic-cells.test.ts` holds the
// results equal to a plain loop.

/** What follows is free. */
export const FREE: i32 = 65536;

/** Added to a float below 2^23 it puts the float's whole number into the lowest bits. Conversions cost many times an addition. */
const WHOLE_BITS: f32 = 8388608;
const WHOLE_EXPONENT: i32 = 0x4b000000;

/** Four 16-bit values as 32-bit whole numbers -> values times `scale`, rounded down, at most 65535: in the lower half of each lane. */
function scaled(values: v128, scale: v128): v128 {
  const whole = f32x4.splat(WHOLE_BITS);
  const light = f32x4.mul(f32x4.sub(v128.or(values, i32x4.splat(WHOLE_EXPONENT)), whole), scale);
  return f32x4.add(f32x4.floor(f32x4.pmin(f32x4.splat(65535), light)), whole);
}

/**
 * Rows of 2 x 2 cells of a Bayer mosaic -> red, green, blue codes: each value less its black, times its scale; green is the
 * mean of the cell's two. The last cells of a row are done twice where they are no whole vector.
 *
 * @param mosaic 2 x rows rows of 16-bit values
 * @param pitchBytes from a row of values to the next
 * @param cells of a row, 4 at least
 * @param blacks 8 x 16 bits for the upper values of a cell (left, right, left, ...), the same for the lower
 * @param scales 4 floats for each value of a cell: upper left, upper right, lower left, lower right
 * @param redAt place of red in a cell: 0 upper left, 1 upper right, 2 lower left, 3 lower right
 * @param codes rows x cells x 3 x 16 bits
 * @returns 1 where any value of the mosaic is 0
 */
export function cellRows(
  mosaic: usize,
  pitchBytes: i32,
  rows: i32,
  cells: i32,
  blacks: usize,
  scales: usize,
  redAt: i32,
  codes: usize,
): i32 {
  const upperBlack = v128.load(blacks);
  const lowerBlack = v128.load(blacks, 16);
  const scale0 = v128.load(scales);
  const scale1 = v128.load(scales, 16);
  const scale2 = v128.load(scales, 32);
  const scale3 = v128.load(scales, 48);
  const left = i32x4.splat(0xffff);
  const onFallingDiagonal = redAt == 0 || redAt == 3;
  const redBelow = redAt >= 2;
  let least = i16x8.splat(-1);
  for (let row = 0; row < rows; row++) {
    for (let cell = 0; cell < cells; cell += 4) {
      const at = min(cell, cells - 4);
      const from = mosaic + ((<usize>at) << 2);
      const upper = v128.load(from);
      const lower = v128.load(from + pitchBytes);
      least = i16x8.min_u(least, i16x8.min_u(upper, lower));
      const upperLight = i16x8.sub_sat_u(upper, upperBlack);
      const lowerLight = i16x8.sub_sat_u(lower, lowerBlack);
      const code0 = scaled(v128.and(upperLight, left), scale0);
      const code1 = scaled(i32x4.shr_u(upperLight, 16), scale1);
      const code2 = scaled(v128.and(lowerLight, left), scale2);
      const code3 = scaled(i32x4.shr_u(lowerLight, 16), scale3);
      let red = code1;
      let blue = code2;
      let greens = i32x4.add(code0, code3);
      if (onFallingDiagonal) {
        red = code0;
        blue = code3;
        greens = i32x4.add(code1, code2);
      }
      if (redBelow) {
        const other = red;
        red = blue;
        blue = other;
      }
      const redGreen = v128.or(v128.and(red, left), i32x4.shl(i32x4.shr_u(greens, 1), 16));
      const to = codes + <usize>at * 6;
      v128.store(to, v128.shuffle<u16>(redGreen, blue, 0, 1, 8, 2, 3, 10, 4, 5));
      v128.store64_lane(to, v128.shuffle<u16>(redGreen, blue, 12, 6, 7, 14, 0, 0, 0, 0), 0, 16);
    }
    mosaic += <usize>(pitchBytes << 1);
    codes += <usize>cells * 6;
  }
  return i16x8.all_true(least) ? 0 : 1;
}

/**
 * Rows of values of 9 to 16 bits that lie packed, highest bit first, each row from a byte on -> 16-bit values. Of each
 * row up to 8 values more are written.
 *
 * @param pitchBytes from a row to the next
 * @param columns values of a row
 * @param bits of a value
 * @param places of eight values: for each four 16 bytes, which byte goes where (into the upper three of each lane), then for
 *   each four what moves a value to the top of its lane, 4 x 32 bits
 * @param values rows x columns x 16 bits
 */
export function unpackRows(
  packed: usize,
  pitchBytes: i32,
  rows: i32,
  columns: i32,
  bits: i32,
  places: usize,
  values: usize,
): void {
  const firstPlaces = v128.load(places);
  const lastPlaces = v128.load(places, 16);
  const firstUp = v128.load(places, 32);
  const lastUp = v128.load(places, 48);
  const down = 32 - bits;
  for (let row = 0; row < rows; row++) {
    let from = packed;
    for (let column = 0; column < columns; column += 8) {
      const bytes = v128.load(from);
      const first = i32x4.shr_u(i32x4.mul(i8x16.swizzle(bytes, firstPlaces), firstUp), down);
      const last = i32x4.shr_u(i32x4.mul(i8x16.swizzle(bytes, lastPlaces), lastUp), down);
      v128.store(values + ((<usize>column) << 1), i16x8.narrow_i32x4_u(first, last));
      from += bits;
    }
    packed += pitchBytes;
    values += (<usize>columns) << 1;
  }
}
