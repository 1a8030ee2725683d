// AssemblyScript, compiled to WebAssembly SIMD by `npm run kernels` into block-row.wasm.ts; not part of the TypeScript
// program. The layout of memory is made by worker/measure/reduce.ts; `tests/unit/reduce.test.ts` holds the results equal
// to a plain loop in doubles.

/** Pixels whose clipping is looked at in one vector: 15 of 16 bytes. */
const PIXELS_A_VECTOR: i32 = 5;
/** One bit a pixel: its red byte. */
const RED: i32 = 0b001_001_001_001_001;

function add(at: usize, n: i32): void {
  store<u32>(at, load<u32>(at) + <u32>n);
}

/** Adds a vector's bits (red, green, blue, red, ...) to the counts any, red, green, blue, all. */
function countBits(bits: i32, counts: usize): void {
  add(counts, popcnt((bits | (bits >> 1) | (bits >> 2)) & RED));
  add(counts + 4, popcnt(bits & RED));
  add(counts + 8, popcnt((bits >> 1) & RED));
  add(counts + 12, popcnt((bits >> 2) & RED));
  add(counts + 16, popcnt(bits & (bits >> 1) & (bits >> 2) & RED));
}

/** Adds light to a block's sums: four floats, the last of no use. */
@inline function addLight(sums: usize, light: v128): void {
  v128.store(sums, f32x4.add(v128.load(sums), light));
}

/**
 * Where the pass over bytes keeps its tables and counts. Fixed, so that an address is a code's place alone. Counts of codes
 * lie half a page of the cache beside the tables: a store and a load with the same last twelve bits wait for each other.
 */
export const TABLES: i32 = 65536;
const TABLE_G: usize = 65536 + 4096;
const TABLE_B: usize = 65536 + 8192;
/** Codes: 256 x (red, green, blue, nothing) counts. Twice, to be added up. */
export const CODES: i32 = 65536 + 12288 + 2048;
const CODES_2: usize = 65536 + 12288 + 2048 + 4096;
/** Counts by the upper bits of luminance; keys of all floats that are not negative. Twice alike. */
export const KEYS: i32 = 131072;
const KEYS_2: usize = 131072 + 262144;
/** What follows is free. */
export const FREE: i32 = 131072 + 2 * 262144;
/** Luminance as a float, shifted so far, is its key: see light-histogram.ts. */
const KEY_SHIFT: i32 = 15;

/** Red, green, blue and luminance of a pixel, by 16 x its codes. */
@inline function lightOf(red: usize, green: usize, blue: usize): v128 {
  return f32x4.add(f32x4.add(v128.load(red, TABLES), v128.load(green, TABLE_G)), v128.load(blue, TABLE_B));
}

/** 4 x the key of a light. A negative float is a negative integer: light is never less than none. */
@inline function keyOf(light: v128): usize {
  return (<usize>(i32x4.extract_lane(i32x4.max_s(light, i32x4.splat(0)), 3) >> KEY_SHIFT)) << 2;
}

/** Counts two pixels and adds their light. Neighbours are often alike: their counts stand apart, so that none waits for the other. */
@inline function twoPixels(p: usize, before: v128): v128 {
  const six = load<u64>(p);
  const low = <u32>six;
  const high = <u32>(six >> 32);
  const red = (<usize>(low << 4)) & 0xff0;
  const green = (<usize>(low >> 4)) & 0xff0;
  const blue = (<usize>(low >> 12)) & 0xff0;
  const red2 = (<usize>(low >> 20)) & 0xff0;
  const green2 = (<usize>(high << 4)) & 0xff0;
  const blue2 = (<usize>(high >> 4)) & 0xff0;
  const light = lightOf(red, green, blue);
  const light2 = lightOf(red2, green2, blue2);
  store<u32>(red, load<u32>(red, CODES) + 1, CODES);
  store<u32>(green, load<u32>(green, CODES + 4) + 1, CODES + 4);
  store<u32>(blue, load<u32>(blue, CODES + 8) + 1, CODES + 8);
  store<u32>(red2, load<u32>(red2, CODES_2) + 1, CODES_2);
  store<u32>(green2, load<u32>(green2, CODES_2 + 4) + 1, CODES_2 + 4);
  store<u32>(blue2, load<u32>(blue2, CODES_2 + 8) + 1, CODES_2 + 8);
  const key = keyOf(light);
  const key2 = keyOf(light2);
  store<u32>(key, load<u32>(key, KEYS) + 1, KEYS);
  store<u32>(key2, load<u32>(key2, KEYS_2) + 1, KEYS_2);
  return f32x4.add(f32x4.add(before, light), light2);
}

@inline function onePixel(p: usize): v128 {
  const red = (<usize>load<u8>(p)) << 4;
  const green = (<usize>load<u8>(p, 1)) << 4;
  const blue = (<usize>load<u8>(p, 2)) << 4;
  const light = lightOf(red, green, blue);
  store<u32>(red, load<u32>(red, CODES) + 1, CODES);
  store<u32>(green, load<u32>(green, CODES + 4) + 1, CODES + 4);
  store<u32>(blue, load<u32>(blue, CODES + 8) + 1, CODES + 8);
  const key = keyOf(light);
  store<u32>(key, load<u32>(key, KEYS) + 1, KEYS);
  return light;
}

/**
 * One row of blocks of an 8-bit picture. `TABLES` hold, for red, green, blue, 256 x 4 floats: the channel's light in its
 * own lane and its luminance in the last.
 *
 * @param pixels rows x width x 3 bytes; 16 more may be read
 * @param topCodes the lowest clipped code of red, green, blue, red, ...: 16 bytes
 * @param bottomCodes the highest black code, alike
 * @param counts any, red, green, blue, all at the top; the same at the bottom
 * @param sums a block: four floats, light of red, green, blue; sums of few numbers each, row by row, so that none is lost
 * @param topCounts a block: pixels with any channel at the top
 * @param bottomCounts a block: pixels with all channels at the bottom
 */
export function blockRow8(
  pixels: usize,
  width: i32,
  rows: i32,
  blockPx: i32,
  topCodes: usize,
  bottomCodes: usize,
  counts: usize,
  sums: usize,
  topCounts: usize,
  bottomCounts: usize,
): void {
  const top = v128.load(topCodes);
  const bottom = v128.load(bottomCodes);
  const blocks = (width + blockPx - 1) / blockPx;
  let p = pixels;
  for (let y = 0; y < rows; y++) {
    for (let block = 0; block < blocks; block++) {
      let left: i32 = min(blockPx, width - block * blockPx);
      let blockLight = f32x4.splat(0);
      while (left > 0) {
        const n = min(left, PIXELS_A_VECTOR);
        const vector = v128.load(p);
        const ofThese = (1 << (n * 3)) - 1;
        const atTop = i8x16.bitmask(i8x16.ge_u(vector, top)) & ofThese;
        if (atTop) {
          countBits(atTop, counts);
          add(topCounts + ((<usize>block) << 2), popcnt((atTop | (atTop >> 1) | (atTop >> 2)) & RED));
        }
        const atBottom = i8x16.bitmask(i8x16.le_u(vector, bottom)) & ofThese;
        if (atBottom) {
          countBits(atBottom, counts + 20);
          add(bottomCounts + ((<usize>block) << 2), popcnt(atBottom & (atBottom >> 1) & (atBottom >> 2) & RED));
        }
        if (n == PIXELS_A_VECTOR) {
          blockLight = twoPixels(p, blockLight);
          blockLight = twoPixels(p + 6, blockLight);
          blockLight = f32x4.add(blockLight, onePixel(p + 12));
          p += 15;
        } else {
          const end = p + <usize>n * 3;
          for (; p + 3 < end; p += 6) blockLight = twoPixels(p, blockLight);
          if (p < end) {
            blockLight = f32x4.add(blockLight, onePixel(p));
            p += 3;
          }
        }
        left -= n;
      }
      addLight(sums + ((<usize>block) << 4), blockLight);
    }
  }
}

/**
 * Means of a finished row of blocks; its sums and counts begin anew.
 *
 * @param rgb a block: three floats, the mean light; one float more is written
 * @param topShares a block: a float, the share of its pixels with any channel at the top
 * @param bottomShares alike, with all channels at the bottom
 */
export function blockMeans(
  width: i32,
  rows: i32,
  blockPx: i32,
  sums: usize,
  topCounts: usize,
  bottomCounts: usize,
  rgb: usize,
  topShares: usize,
  bottomShares: usize,
): void {
  const blocks = (width + blockPx - 1) / blockPx;
  const whole = 1 / <f64>(rows * blockPx);
  for (let block = 0; block < blocks; block++) {
    const share = block == blocks - 1 ? 1 / <f64>(rows * (width - block * blockPx)) : whole;
    // The fourth is overwritten by the next block's first.
    v128.store(rgb + <usize>block * 12, f32x4.mul(v128.load(sums + ((<usize>block) << 4)), f32x4.splat(<f32>share)));
    const at = (<usize>block) << 2;
    const top = load<u32>(topCounts + at);
    const bottom = load<u32>(bottomCounts + at);
    store<f32>(topShares + at, top == 0 ? 0 : <f32>(<f64>top * share));
    store<f32>(bottomShares + at, bottom == 0 ? 0 : <f32>(<f64>bottom * share));
  }
  memory.fill(sums, 0, (<usize>blocks) << 4);
  memory.fill(topCounts, 0, (<usize>blocks) << 2);
  memory.fill(bottomCounts, 0, (<usize>blocks) << 2);
}

/**
 * One row of blocks of a 16-bit picture: as blockRow8, but
 *
 * @param pixels rows x width x 3 unsigned 16-bit integers
 * @param tables red, green, blue: 65,536 floats
 * @param weights luminance of red, green, blue: three floats
 * @param topCodes three unsigned 32-bit integers
 * @param bottomCodes three unsigned 32-bit integers
 */
export function blockRow16(
  pixels: usize,
  width: i32,
  rows: i32,
  blockPx: i32,
  tables: usize,
  weights: usize,
  topCodes: usize,
  bottomCodes: usize,
  counts: usize,
  sums: usize,
  topCounts: usize,
  bottomCounts: usize,
): void {
  const tableG = tables + 4 * 65536;
  const tableB = tables + 8 * 65536;
  const weightR = load<f32>(weights);
  const weightG = load<f32>(weights, 4);
  const weightB = load<f32>(weights, 8);
  const topR = load<u32>(topCodes);
  const topG = load<u32>(topCodes, 4);
  const topB = load<u32>(topCodes, 8);
  const bottomR = load<u32>(bottomCodes);
  const bottomG = load<u32>(bottomCodes, 4);
  const bottomB = load<u32>(bottomCodes, 8);
  const blocks = (width + blockPx - 1) / blockPx;
  let p = pixels;
  for (let y = 0; y < rows; y++) {
    for (let block = 0; block < blocks; block++) {
      const n = min(blockPx, width - block * blockPx);
      let red: f32 = 0;
      let green: f32 = 0;
      let blue: f32 = 0;
      const end = p + <usize>n * 6;
      for (; p < end; p += 6) {
        const r = <u32>load<u16>(p);
        const g = <u32>load<u16>(p, 2);
        const b = <u32>load<u16>(p, 4);
        const lightR = load<f32>(tables + ((<usize>r) << 2));
        const lightG = load<f32>(tableG + ((<usize>g) << 2));
        const lightB = load<f32>(tableB + ((<usize>b) << 2));
        red += lightR;
        green += lightG;
        blue += lightB;
        const light = weightR * lightR + weightG * lightG + weightB * lightB;
        const key = max(reinterpret<i32>(light), 0) >> KEY_SHIFT;
        add(<usize>KEYS + ((<usize>key) << 2), 1);
        add(<usize>CODES + ((<usize>(r >> 8)) << 4), 1);
        add(<usize>CODES + 4 + ((<usize>(g >> 8)) << 4), 1);
        add(<usize>CODES + 8 + ((<usize>(b >> 8)) << 4), 1);
        const atTop = (<i32>(r >= topR)) | ((<i32>(g >= topG)) << 1) | ((<i32>(b >= topB)) << 2);
        if (atTop) {
          countBits(atTop, counts);
          add(topCounts + ((<usize>block) << 2), 1);
        }
        const atBottom = (<i32>(r <= bottomR)) | ((<i32>(g <= bottomG)) << 1) | ((<i32>(b <= bottomB)) << 2);
        if (atBottom) {
          countBits(atBottom, counts + 20);
          if (atBottom == 7) add(bottomCounts + ((<usize>block) << 2), 1);
        }
      }
      addLight(sums + ((<usize>block) << 4), f32x4(red, green, blue, 0));
    }
  }
}
