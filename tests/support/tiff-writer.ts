/** A value of a TIFF directory: numbers of a type, a reference to another directory, or to a block of data. */
export type TiffValue =
  | { type: 'byte' | 'undefined' | 'short' | 'long'; values: readonly number[] }
  | { type: 'ascii'; text: string }
  | { type: 'rational' | 'srational'; pairs: readonly (readonly [number, number])[] }
  | { directory: string }
  | { block: string };

export type TiffDirectoryContent = ReadonlyMap<number, TiffValue>;

const TYPE_CODE = { byte: 1, ascii: 2, short: 3, long: 4, rational: 5, undefined: 7, srational: 10 } as const;
const SIZE_BYTES = { byte: 1, ascii: 1, short: 2, long: 4, rational: 8, undefined: 1, srational: 8 } as const;

/**
 * Writes a little-endian TIFF (TIFF 6.0 section 2). The first directory is IFD0; the others are reached by
 * `directory` references; blocks are placed after all directories, in the order given.
 */
export function writeTiff(
  directories: ReadonlyMap<string, TiffDirectoryContent>,
  blocks: ReadonlyMap<string, Uint8Array>,
): Buffer {
  const offsets = new Map<string, number>();
  let at = 8;
  for (const [name, content] of directories) {
    offsets.set(`directory ${name}`, at);
    at += 2 + content.size * 12 + 4;
  }
  const long = (value: number): Buffer => {
    const bytes = Buffer.alloc(4);
    bytes.writeUInt32LE(value);
    return bytes;
  };
  const outside: { offset: number; bytes: Buffer }[] = [];
  const place = (bytes: Buffer): number => {
    const offset = at + (at % 2);
    outside.push({ offset, bytes });
    at = offset + bytes.length;
    return offset;
  };
  const spilled = new Map<TiffValue, number>();
  for (const content of directories.values())
    for (const value of content.values()) {
      if (!('type' in value)) continue;
      const encoded = encode(value);
      if (encoded.length > 4) spilled.set(value, place(encoded));
    }
  for (const [name, bytes] of blocks) offsets.set(`block ${name}`, place(Buffer.from(bytes)));

  const out = Buffer.alloc(at);
  out.write('II', 0, 'latin1');
  out.writeUInt16LE(42, 2);
  out.writeUInt32LE(8, 4);
  for (const [name, content] of directories) {
    let entryAt = (offsets.get(`directory ${name}`) ?? 0) + 2;
    out.writeUInt16LE(content.size, entryAt - 2);
    for (const [tag, value] of [...content].sort(([a], [b]) => a - b)) {
      const typed = 'type' in value;
      const reference = typed ? '' : 'directory' in value ? `directory ${value.directory}` : `block ${value.block}`;
      const encoded = typed ? encode(value) : long(offsets.get(reference) ?? 0);
      const spilledAt = spilled.get(value);
      out.writeUInt16LE(tag, entryAt);
      out.writeUInt16LE(typed ? TYPE_CODE[value.type] : TYPE_CODE.long, entryAt + 2);
      out.writeUInt32LE(typed ? encoded.length / SIZE_BYTES[value.type] : 1, entryAt + 4);
      (spilledAt === undefined ? encoded : long(spilledAt)).copy(out, entryAt + 8);
      entryAt += 12;
    }
  }
  for (const { offset, bytes } of outside) bytes.copy(out, offset);
  return out;
}

function encode(value: Extract<TiffValue, { type: string }>): Buffer {
  if ('text' in value) return Buffer.from(`${value.text}\0`, 'latin1');
  if ('pairs' in value) {
    const bytes = Buffer.alloc(value.pairs.length * 8);
    value.pairs.flat().forEach((part, index) => {
      if (value.type === 'rational') bytes.writeUInt32LE(part, index * 4);
      else bytes.writeInt32LE(part, index * 4);
    });
    return bytes;
  }
  const sizeBytes = SIZE_BYTES[value.type];
  const bytes = Buffer.alloc(value.values.length * sizeBytes);
  value.values.forEach((number, index) => bytes.writeUIntLE(number, index * sizeBytes, sizeBytes));
  return bytes;
}
