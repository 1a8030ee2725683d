/**
 * Floats as whole numbers of the same order (IEEE 754-2019, 3.4: sign, exponent, fraction): comparing those needs no conversion.
 * Negative ones turn around but for their sign. The same again gives the float's bits back.
 */
function ordered(bits: number): number {
  return bits ^ ((bits >> 31) & 0x7fffffff);
}

const scratch = new Float32Array(1);
const scratchBits = new Int32Array(scratch.buffer);
function floatOf(key: number): number {
  scratchBits[0] = ordered(key);
  return scratch[0]!;
}

function bitsOf(values: Float32Array): Int32Array {
  return new Int32Array(values.buffer, values.byteOffset, values.length);
}

/** Median of typed values (the mean of the middle two for an even count); null when empty. */
export function medianOf(values: Float32Array): number | null {
  const bits = bitsOf(values);
  const keys = new Int32Array(values.length);
  for (let k = 0; k < keys.length; k++) keys[k] = ordered(bits[k]!);
  return medianOfKeys(keys);
}

/** Median of the values at some places; null when there are none. */
export function medianAt(values: Float32Array, places: Int32Array): number | null {
  return medianOfKeys(keysAt(values, places));
}

/** The value that would stand at `rank` were the values at some places sorted. */
export function rankedAt(values: Float32Array, places: Int32Array, rank: number): number {
  return floatOf(selectInPlace(keysAt(values, places), rank));
}

function keysAt(values: Float32Array, places: Int32Array): Int32Array {
  const bits = bitsOf(values);
  const keys = new Int32Array(places.length);
  for (let k = 0; k < keys.length; k++) keys[k] = ordered(bits[places[k]!]!);
  return keys;
}

function medianOfKeys(keys: Int32Array): number | null {
  if (keys.length === 0) return null;
  const middle = keys.length >> 1;
  const upper = selectInPlace(keys, middle);
  if (keys.length % 2 === 1) return floatOf(upper);
  let lower = keys[0]!;
  for (let i = 1; i < middle; i++) if (keys[i]! > lower) lower = keys[i]!;
  return (floatOf(lower) + floatOf(upper)) / 2;
}

/**
 * The key that would stand at `place` were the keys sorted; all before it are not above it afterwards, all behind
 * it not below. C. A. R. Hoare, "Algorithm 65: FIND", Communications of the ACM 4(7), 1961 (from memory).
 */
function selectInPlace(keys: Int32Array, place: number): number {
  let from = 0;
  let to = keys.length - 1;
  while (from < to) {
    const pivot = keys[place]!;
    let i = from;
    let j = to;
    while (i <= j) {
      while (keys[i]! < pivot) i++;
      while (pivot < keys[j]!) j--;
      if (i > j) break;
      const kept = keys[i]!;
      keys[i++] = keys[j]!;
      keys[j--] = kept;
    }
    if (j < place) from = i;
    if (place < i) to = j;
  }
  return keys[place]!;
}
