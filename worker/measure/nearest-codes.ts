/**
 * A plane of codes at another size: each cell takes the code under its middle, since codes cannot be averaged.
 *
 * @param codes height x width, row-major
 * @returns outHeight x outWidth; `codes` itself where the size stays
 */
export function nearestCodes(
  codes: Uint8Array,
  width: number,
  height: number,
  outWidth: number,
  outHeight: number,
): Uint8Array {
  if (outWidth === width && outHeight === height) return codes;
  const columns = new Uint32Array(outWidth);
  for (let x = 0; x < outWidth; x++) columns[x] = Math.floor(((x + 0.5) * width) / outWidth);
  const out = new Uint8Array(outWidth * outHeight);
  for (let y = 0; y < outHeight; y++) {
    const row = Math.floor(((y + 0.5) * height) / outHeight) * width;
    const to = y * outWidth;
    for (let x = 0; x < outWidth; x++) out[to + x] = codes[row + columns[x]!]!;
  }
  return out;
}
