export interface LosslessForm {
  /** Interleaved: 2 unless said otherwise. The width is a multiple. */
  components?: number;
  /** 1..7, 1 unless said otherwise. */
  predictor?: number;
}

/**
 * A mosaic as cameras compress it: lossless JPEG (ITU-T T.81, process 14, SOF3; from memory), its components the columns of a
 * row in turn.
 *
 * @param mosaic heightPx x widthPx values of at most `bits` bits
 */
export function losslessJpeg(
  mosaic: Uint16Array,
  widthPx: number,
  heightPx: number,
  bits: number,
  { components = 2, predictor = 1 }: LosslessForm = {},
): Uint8Array {
  const predictedAt = (i: number): number => {
    const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
    const [left, above, corner] = [i - components, i - widthPx, i - widthPx - components].map((at) => mosaic[at] ?? 0);
    if (x < components) return y > 0 ? above! : 1 << (bits - 1);
    if (y === 0) return left!;
    const a = left!;
    const b = above!;
    const c = corner!;
    return [a, b, c, a + b - c, a + ((b - c) >> 1), b + ((a - c) >> 1), (a + b) >> 1][predictor - 1]!;
  };
  // Differences are known but for a multiple of 65536 (T.81 H.1.2.1).
  const differenceAt = (i: number): number => {
    const difference = (mosaic[i]! - predictedAt(i)) & 0xffff;
    return difference > 32_768 ? difference - 65_536 : difference;
  };
  // How many bits a difference needs; the commonest get the shortest codes. Lengths that no code is all ones of: T.81 K.2.
  const sizeOf = (difference: number): number => 32 - Math.clz32(Math.abs(difference));
  const counts = new Uint32Array(17);
  for (let i = 0; i < mosaic.length; i++) counts[sizeOf(differenceAt(i))]!++;
  const sizes = [...counts.keys()].sort((a, b) => counts[b]! - counts[a]!);
  const lengths = sizes.map((_, rank) => (rank < 7 ? 3 : rank - 3));
  const codes = new Uint32Array(17);
  let next = 0;
  sizes.forEach((size, rank) => {
    if (rank > 0) next = (next + 1) << (lengths[rank]! - lengths[rank - 1]!);
    codes[size] = next;
  });
  const lengthOf = new Uint8Array(17);
  sizes.forEach((size, rank) => (lengthOf[size] = lengths[rank]!));

  const out = new Uint8Array(1024 + mosaic.length * 5);
  let end = 0;
  const bytes = (...values: number[]): void => {
    out.set(values, end);
    end += values.length;
  };
  const word = (value: number): [number, number] => [value >> 8, value & 255];
  const ofLength = Array.from({ length: 16 }, (_, i) => lengths.filter((length) => length === i + 1).length);
  bytes(0xff, 0xd8, 0xff, 0xc4, ...word(2 + 17 + 17), 0, ...ofLength, ...sizes);
  bytes(0xff, 0xc3, ...word(8 + 3 * components), bits, ...word(heightPx), ...word(widthPx / components));
  const numbers = Array.from({ length: components }, (_, i) => i + 1);
  bytes(components, ...numbers.flatMap((number) => [number, 0x11, 0]));
  bytes(
    0xff,
    0xda,
    ...word(6 + 2 * components),
    components,
    ...numbers.flatMap((number) => [number, 0]),
    predictor,
    0,
    0,
  );
  let [held, heldBits] = [0, 0];
  const put = (value: number, length: number): void => {
    held = (held << length) | value;
    for (heldBits += length; heldBits >= 8; heldBits -= 8) {
      const byte = (held >>> (heldBits - 8)) & 255;
      out[end++] = byte;
      if (byte === 255) out[end++] = 0;
    }
    held &= 0xff;
  };
  for (let i = 0; i < mosaic.length; i++) {
    const difference = differenceAt(i);
    const size = sizeOf(difference);
    put(codes[size]!, lengthOf[size]!);
    // Of a negative one, one less: its highest bit is 0 (T.81 F.1.2.1).
    if (size > 0 && size < 16) put((difference < 0 ? difference - 1 : difference) & ((1 << size) - 1), size);
  }
  if (heldBits > 0) put((1 << (8 - heldBits)) - 1, 8 - heldBits);
  bytes(0xff, 0xd9);
  return out.subarray(0, end);
}
