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

function addLight(sums: usize, red: f64, green: f64, blue: f64): void {
  store<f64>(sums, load<f64>(sums) + red);
  store<f64>(sums, load<f64>(sums, 8) + green, 8);
  store<f64>(sums, load<f64>(sums, 16) + blue, 16);
}

/** From one set of counts to the other: three channels' codes; keys of all floats that are not negative. */
const CODES_BYTES: usize = 3 * 256 * 4;
const KEYS_BYTES: usize = 65536 * 4;

/** Red, green, blue and luminance of a pixel. */
function lightOf(p: usize, tables: usize): v128 {
  return f32x4.add(
    f32x4.add(
      v128.load(tables + ((<usize>load<u8>(p)) << 4)),
      v128.load(tables + ((<usize>load<u8>(p, 1)) << 4), 4096),
    ),
    v128.load(tables + ((<usize>load<u8>(p, 2)) << 4), 8192),
  );
}

function countPixel(p: usize, light: v128, keyShift: i32, codes: usize, keys: usize): void {
  // A negative float is a negative integer: light is never less than none.
  const key = max(i32x4.extract_lane(light, 3), 0) >> keyShift;
  increment(keys + ((<usize>key) << 2));
  increment(codes + ((<usize>load<u8>(p)) << 2));
  increment(codes + 1024 + ((<usize>load<u8>(p, 1)) << 2));
  increment(codes + 2048 + ((<usize>load<u8>(p, 2)) << 2));
}

function increment(at: usize): void {
  store<u32>(at, load<u32>(at) + 1);
}

/**
 * One row of blocks of an 8-bit picture.
 *
 * @param pixels rows x width x 3 bytes; 16 more may be read
 * @param tables red, green, blue: 256 x 4 floats, the channel's light in its own lane and its luminance in the last
 * @param codes red, green, blue: 256 counts; twice, to be added up
 * @param keys counts by the upper bits of luminance; twice alike
 * @param topCodes the lowest clipped code of red, green, blue, red, ...: 16 bytes
 * @param bottomCodes the highest black code, alike
 * @param counts any, red, green, blue, all at the top; the same at the bottom
 * @param sums a block: three doubles
 * @param topCounts a block: pixels with any channel at the top
 * @param bottomCounts a block: pixels with all channels at the bottom
 */
export function blockRow8(
  pixels: usize,
  width: i32,
  rows: i32,
  blockPx: i32,
  keyShift: i32,
  tables: usize,
  codes: usize,
  keys: usize,
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
        const end = p + <usize>n * 3;
        // Neighbours are often alike: counts of every other pixel stand apart, so that none waits for the one before.
        for (; p + 3 < end; p += 6) {
          const light0 = lightOf(p, tables);
          const light1 = lightOf(p + 3, tables);
          blockLight = f32x4.add(f32x4.add(blockLight, light0), light1);
          countPixel(p, light0, keyShift, codes, keys);
          countPixel(p + 3, light1, keyShift, codes + CODES_BYTES, keys + KEYS_BYTES);
        }
        if (p < end) {
          const light = lightOf(p, tables);
          blockLight = f32x4.add(blockLight, light);
          countPixel(p, light, keyShift, codes, keys);
          p += 3;
        }
        left -= n;
      }
      addLight(
        sums + <usize>block * 24,
        f32x4.extract_lane(blockLight, 0),
        f32x4.extract_lane(blockLight, 1),
        f32x4.extract_lane(blockLight, 2),
      );
    }
  }
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
  keyShift: i32,
  tables: usize,
  weights: usize,
  codes: usize,
  keys: usize,
  topCodes: usize,
  bottomCodes: usize,
  counts: usize,
  sums: usize,
  topCounts: usize,
  bottomCounts: usize,
): void {
  const tableG = tables + 4 * 65536;
  const tableB = tables + 8 * 65536;
  const codesG = codes + 1024;
  const codesB = codes + 2048;
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
      let red: f64 = 0;
      let green: f64 = 0;
      let blue: f64 = 0;
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
        const key = max(reinterpret<i32>(light), 0) >> keyShift;
        add(keys + ((<usize>key) << 2), 1);
        add(codes + ((<usize>(r >> 8)) << 2), 1);
        add(codesG + ((<usize>(g >> 8)) << 2), 1);
        add(codesB + ((<usize>(b >> 8)) << 2), 1);
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
      addLight(sums + <usize>block * 24, red, green, blue);
    }
  }
}
