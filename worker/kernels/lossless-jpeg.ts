// AssemblyScript, compiled to WebAssembly SIMD by `npm run kernels` into lossless-jpeg.wasm.ts; not part of the TypeScript
// program. Lossless JPEG, Huffman coded: ITU-T T.81, process 14, annexes C, F.1.2 and H (from memory). The layout of memory
// is made by worker/decode/lossless-jpeg.ts; `tests/unit/lossless-jpeg.test.ts` holds the results equal to what was encoded
// and to LibRaw's.

/** What follows is free. */
export const FREE: i32 = 65536;

/** Bits that a table is looked up by: two tables stay in the processor's first cache. */
const LOOKED_UP: u64 = 12;
/** Of an entry of a table: bits used up (0..63), whether more than the table is needed, and above both the difference. */
const USED: u32 = 63;
const MORE: u32 = 64;
const DIFFERENCE_AT: u32 = 16;
/** After the looked up entries: 17 x 4 bytes, where codes of a length end, as the first 16 bits; 17 x 4 bytes, which symbol they begin with; 256 symbols. */
const ENTRIES_BYTES: usize = 4 << 12;
const ENDS: usize = ENTRIES_BYTES;
const FIRSTS: usize = ENDS + 17 * 4;
const SYMBOLS: usize = FIRSTS + 17 * 4;
export const TABLE_BYTES: i32 = <i32>SYMBOLS + 256;

/** Where `unstuff` stopped. */
export let reached: usize = 0;
/** All decoded values, or-ed: which bits they have. */
export let seen: i32 = 0;
/** 1 after a code that its table does not know. */
export let isUnknown: i32 = 0;

/** Bits of a symbol's difference, and the difference that they say: T.81 H.1.2.2 and F.1.2.1, table H.2. */
@inline
function differenceOf(size: u32, bits: u32): i32 {
  if (size == 0) return 0;
  if (size == 16) return -32768;
  return bits >> (size - 1) != 0 ? <i32>bits : <i32>bits - (1 << size) + 1;
}

/**
 * A Huffman table for looking up: T.81 annex C.
 *
 * @param counts 16 bytes: codes of 1 to 16 bits
 * @param symbols their symbols, in order of the codes: how many bits a difference has, 0..16
 * @returns 1; 0 where these are no codes
 */
export function makeTable(counts: usize, symbols: usize, table: usize): i32 {
  memory.fill(table, 0, <usize>TABLE_BYTES);
  for (let i: u32 = 0; i < 1 << <u32>LOOKED_UP; i++) store<u32>(table + (i << 2), MORE);
  let code: u32 = 0;
  let next: u32 = 0;
  for (let length: u32 = 1; length <= 16; length++) {
    const count = <u32>load<u8>(counts + length - 1);
    store<i32>(table + FIRSTS + (length << 2), <i32>next - <i32>code);
    for (let i: u32 = 0; i < count; i++) {
      if (code >= <u32>1 << length || next > 255) return 0;
      const size = <u32>load<u8>(symbols + next);
      if (size > 16) return 0;
      store<u8>(table + SYMBOLS + next, <u8>size);
      const used = size == 16 ? length : length + size;
      if (used <= <u32>LOOKED_UP) {
        const sizeBits = used - length;
        for (let bits: u32 = 0; bits < <u32>1 << sizeBits; bits++) {
          const rest = <u32>LOOKED_UP - used;
          const entry = ((<u32>differenceOf(size, bits)) << DIFFERENCE_AT) | used;
          const first = ((code << sizeBits) | bits) << rest;
          for (let at = first; at < first + (<u32>1 << rest); at++) store<u32>(table + (at << 2), entry);
        }
      }
      code++;
      next++;
    }
    store<u32>(table + ENDS + (length << 2), code << (16 - length));
    code <<= 1;
  }
  return 1;
}

/** The entry for a code and its difference that are longer than what is looked up; `held` begins with them. */
function longEntry(held: u64, table: usize): u32 {
  const code = <u32>(held >>> 48);
  let length: u32 = 1;
  while (length <= 16 && code >= load<u32>(table + ENDS + (length << 2))) length++;
  if (length > 16) {
    isUnknown = 1;
    return 1;
  }
  const symbol = load<i32>(table + FIRSTS + (length << 2)) + <i32>(code >> (16 - length));
  const size = <u32>load<u8>(table + SYMBOLS + symbol);
  if (size == 0) return length;
  if (size == 16) return ((<u32>-32768) << DIFFERENCE_AT) | length;
  const bits = <u32>((held << length) >>> (64 - size));
  return ((<u32>differenceOf(size, bits)) << DIFFERENCE_AT) | (length + size);
}

/** 8 bytes, the first one highest. */
@inline
function highestFirst(at: usize): u64 {
  const bytes = v128.load64_zero(at);
  return i64x2.extract_lane(v128.shuffle<u8>(bytes, bytes, 7, 6, 5, 4, 3, 2, 1, 0, 8, 8, 8, 8, 8, 8, 8, 8), 0);
}

/**
 * Coded bytes without the 0 that follows each 0xff (T.81 F.1.2.3), up to a marker or the end; `reached` says where.
 *
 * @param to may be written to 16 bytes beyond what is returned
 * @returns bytes written
 */
export function unstuff(from: usize, end: usize, to: usize): i32 {
  const start = to;
  const marks = i8x16.splat(-1);
  while (from < end) {
    if (from + 16 <= end) {
      const bytes = v128.load(from);
      v128.store(to, bytes);
      const found = i8x16.bitmask(i8x16.eq(bytes, marks));
      const before = found == 0 ? 16 : ctz(found);
      from += before;
      to += before;
      if (found == 0) continue;
    } else if (load<u8>(from) != 0xff) {
      store<u8>(to++, load<u8>(from++));
      continue;
    }
    if (from + 1 >= end || load<u8>(from + 1) != 0) break;
    store<u8>(to++, 0xff);
    from += 2;
  }
  reached = from;
  return <i32>(to - start);
}

/** T.81 table H.1. */
function predictedFrom(predictor: i32, before: i32, above: i32, corner: i32): i32 {
  switch (predictor) {
    case 2:
      return above;
    case 3:
      return corner;
    case 4:
      return before + above - corner;
    case 5:
      return before + ((above - corner) >> 1);
    case 6:
      return above + ((before - corner) >> 1);
    case 7:
      return (before + above) >> 1;
    default:
      return before;
  }
}

/**
 * Rows of samples of 1 to 4 components, interleaved (T.81 H.1.2: predictors 1 to 7).
 *
 * @param codes unstuffed bytes; up to 4 for each value, and 16, are read
 * @param bit of them where the first row begins
 * @param columns samples of each component in a row
 * @param tables one for each component, TABLE_BYTES apart
 * @param isFirst 1 where the first row is that of the picture, whose values are predicted from those before them
 * @param values rows x columns x components x 16 bits; the row above lies before it (before the picture's first: the default
 *   prediction)
 * @returns the bit where the next row begins; `seen` has the bits of all values
 */
export function decodeRows(
  codes: usize,
  bit: i32,
  rows: i32,
  columns: i32,
  components: i32,
  predictor: i32,
  tables: usize,
  isFirst: i32,
  values: usize,
): i32 {
  const shift: u64 = 64 - LOOKED_UP;
  const rowBytes = <usize>(columns * components) << 1;
  let from = codes + (bit >> 3);
  // The next bits, highest first, and how many of them are counted; those after them are the ones that follow, or 0.
  let held = highestFirst(from) << (bit & 7);
  let count: u32 = 56 - (bit & 7);
  from += 7;
  let all: i32 = 0;
  const otherTable = tables + <usize>TABLE_BYTES;
  const step = <usize>components << 1;
  for (let row = 0; row < rows; row++) {
    const above = values - rowBytes;
    if (predictor == 1 && components == 2) {
      let left: i32 = load<u16>(above);
      let right: i32 = load<u16>(above, 2);
      let to = values;
      for (let x = 0; x < columns; x++) {
        held |= highestFirst(from) >>> count;
        from += (63 - count) >> 3;
        count |= 56;
        let entry = load<u32>(tables + (<usize>(held >>> shift) << 2));
        if (entry & MORE) {
          entry = longEntry(held, tables);
          held <<= entry & USED;
          count -= entry & USED;
          held |= highestFirst(from) >>> count;
          from += (63 - count) >> 3;
          count |= 56;
        } else {
          held <<= entry & USED;
          count -= entry & USED;
        }
        left += <i32>entry >> DIFFERENCE_AT;
        entry = load<u32>(otherTable + (<usize>(held >>> shift) << 2));
        if (entry & MORE) entry = longEntry(held, otherTable);
        held <<= entry & USED;
        count -= entry & USED;
        right += <i32>entry >> DIFFERENCE_AT;
        all |= left | right;
        store<u32>(to, (left & 0xffff) | (right << 16));
        to += 4;
      }
    } else {
      const isAlone = row == 0 && isFirst != 0;
      let at = values;
      for (let x = 0; x < columns; x++) {
        let table = tables;
        for (let component = 0; component < components; component++) {
          held |= highestFirst(from) >>> count;
          from += (63 - count) >> 3;
          count |= 56;
          let entry = load<u32>(table + (<usize>(held >>> shift) << 2));
          if (entry & MORE) entry = longEntry(held, table);
          held <<= entry & USED;
          count -= entry & USED;
          let predicted: i32 = load<u16>(at - rowBytes);
          if (x > 0) {
            const before: i32 = load<u16>(at - step);
            const corner: i32 = load<u16>(at - rowBytes - step);
            predicted = isAlone ? before : predictedFrom(predictor, before, predicted, corner);
          }
          const value = predicted + (<i32>entry >> DIFFERENCE_AT);
          all |= value;
          store<u16>(at, <u16>value);
          at += 2;
          table += <usize>TABLE_BYTES;
        }
      }
    }
    values += rowBytes;
  }
  seen |= all;
  return <i32>((from - codes) << 3) - <i32>count;
}
