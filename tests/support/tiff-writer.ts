/** A value of a TIFF directory: numbers of a type, a reference to another directory, or to blocks of data. */
export type TiffValue =
  | { type: 'byte' | 'undefined' | 'short' | 'long'; values: readonly number[] }
  | { type: 'ascii'; text: string }
  | { type: 'rational' | 'srational'; pairs: readonly (readonly [number, number])[] }
  | { directory: string }
  | { block: string }
  | { blocks: readonly string[] };

export type TiffDirectoryContent = ReadonlyMap<number, TiffValue>;

const TYPE_CODE = { byte: 1, ascii: 2, short: 3, long: 4, rational: 5, undefined: 7, srational: 10 } as const;
const SIZE_BYTES = { byte: 1, ascii: 1, short: 2, long: 4, rational: 8, undefined: 1, srational: 8 } as const;

/**
 * Writes a TIFF (TIFF 6.0 section 2). The first directory is IFD0; the others are reached by `directory` references; blocks
 * are placed after all directories, in the order given.
 *
 * @param byteOrder little-endian unless said otherwise; what is in the blocks is left as it is
 */
export function writeTiff(
  directories: ReadonlyMap<string, TiffDirectoryContent>,
  blocks: ReadonlyMap<string, Uint8Array>,
  byteOrder: 'II' | 'MM' = 'II',
): Buffer {
  const offsets = new Map<string, number>();
  let at = 8;
  for (const [name, content] of directories) {
    offsets.set(`directory ${name}`, at);
    at += 2 + content.size * 12 + 4;
  }
  const outside: { offset: number; value: TiffValue }[] = [];
  const place = (lengthBytes: number): number => {
    const offset = at + (at % 2);
    at = offset + lengthBytes;
    return offset;
  };
  const spilled = new Map<TiffValue, number>();
  const encoded = (value: TiffValue): Buffer => encode(referred(value, offsets), byteOrder);
  for (const content of directories.values())
    for (const value of content.values()) {
      const { length } = encoded(value);
      if (length > 4) {
        spilled.set(value, place(length));
        outside.push({ offset: spilled.get(value)!, value });
      }
    }
  for (const [name, bytes] of blocks) offsets.set(`block ${name}`, place(bytes.length));

  const out = Buffer.alloc(at);
  const u16 = (value: number, offset: number) =>
    byteOrder === 'II' ? out.writeUInt16LE(value, offset) : out.writeUInt16BE(value, offset);
  const u32 = (value: number, offset: number) =>
    byteOrder === 'II' ? out.writeUInt32LE(value, offset) : out.writeUInt32BE(value, offset);
  out.write(byteOrder, 0, 'latin1');
  u16(42, 2);
  u32(8, 4);
  for (const [name, content] of directories) {
    let entryAt = (offsets.get(`directory ${name}`) ?? 0) + 2;
    u16(content.size, entryAt - 2);
    for (const [tag, value] of [...content].sort(([a], [b]) => a - b)) {
      const bytes = encoded(value);
      const { type } = referred(value, offsets);
      const spilledAt = spilled.get(value);
      u16(tag, entryAt);
      u16(TYPE_CODE[type], entryAt + 2);
      u32(bytes.length / SIZE_BYTES[type], entryAt + 4);
      if (spilledAt === undefined) bytes.copy(out, entryAt + 8);
      else u32(spilledAt, entryAt + 8);
      entryAt += 12;
    }
  }
  for (const { offset, value } of outside) encoded(value).copy(out, offset);
  for (const [name, bytes] of blocks) out.set(bytes, offsets.get(`block ${name}`));
  return out;
}

type Written = Extract<TiffValue, { type: string }>;

/** References as the offsets that they stand for, 0 where those are not known yet. */
function referred(value: TiffValue, offsets: ReadonlyMap<string, number>): Written {
  if ('type' in value) return value;
  const names =
    'directory' in value
      ? [`directory ${value.directory}`]
      : ('blocks' in value ? value.blocks : [value.block]).map((name) => `block ${name}`);
  return { type: 'long', values: names.map((name) => offsets.get(name) ?? 0) };
}

function encode(value: Written, byteOrder: 'II' | 'MM'): Buffer {
  if ('text' in value) return Buffer.from(`${value.text}\0`, 'latin1');
  const isPairs = 'pairs' in value;
  const numbers = isPairs ? value.pairs.flat() : value.values;
  const sizeBytes = isPairs ? 4 : SIZE_BYTES[value.type];
  const bytes = Buffer.alloc(numbers.length * sizeBytes);
  numbers.forEach((number, index) => {
    // Negative numbers as their two's complement.
    const unsigned = number < 0 ? number + 2 ** (8 * sizeBytes) : number;
    if (byteOrder === 'II') bytes.writeUIntLE(unsigned, index * sizeBytes, sizeBytes);
    else bytes.writeUIntBE(unsigned, index * sizeBytes, sizeBytes);
  });
  return bytes;
}
