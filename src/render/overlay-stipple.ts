/** Four bytes as the one number that lies so in memory. */
const pixelOf = (...rgba: [number, number, number, number]): number =>
  new Uint32Array(Uint8Array.from(rgba).buffer)[0]!;
const DARK = pixelOf(26, 28, 34, 235);
const LIGHT = pixelOf(255, 253, 245, 255);

/**
 * Draws areas: a dark dot in a light ring in every cell of a slanted grid, and a light line with a dark one inside it
 * around each. RGBA, 4 bytes a pixel, row-major, as large as the mask.
 *
 * @param mask 1 inside the areas, row-major
 * @param penPx width of the lines; dots are twice as wide, eight widths apart
 */
export function stippleAreas(mask: Uint8Array, widthPx: number, heightPx: number, penPx: number): Uint8Array {
  const pixels = new Uint32Array(widthPx * heightPx);
  const linePx = Math.max(1, Math.round(penPx));
  const cellPx = Math.max(6, Math.round(penPx * 8));
  /** Whether a pixel of the picture that stands so far straight to a side is outside the areas. */
  const edge = (x: number, y: number, reach: number): boolean => {
    const i = y * widthPx + x;
    return (
      (x >= reach && mask[i - reach] !== 1) ||
      (x + reach < widthPx && mask[i + reach] !== 1) ||
      (y >= reach && mask[i - reach * widthPx] !== 1) ||
      (y + reach < heightPx && mask[i + reach * widthPx] !== 1)
    );
  };
  for (let y = 0; y < heightPx; y += 1) {
    // Every other row of dots stands half a cell aside.
    const aside = Math.floor(y / cellPx) % 2 === 0 ? 0 : Math.floor(cellPx / 2);
    for (let x = 0; x < widthPx; x += 1) {
      const i = y * widthPx + x;
      if (mask[i] !== 1) continue;
      const fromDot = Math.sqrt(
        (((x + aside) % cellPx) - cellPx / 2 + 0.5) ** 2 + ((y % cellPx) - cellPx / 2 + 0.5) ** 2,
      );
      if (edge(x, y, linePx)) pixels[i] = LIGHT;
      else if (edge(x, y, 2 * linePx) || fromDot <= penPx) pixels[i] = DARK;
      else if (fromDot <= penPx * 1.8) pixels[i] = LIGHT;
    }
  }
  return new Uint8Array(pixels.buffer);
}
