const DARK = [26, 28, 34, 235] as const;
const LIGHT = [255, 253, 245, 255] as const;

/**
 * Draws areas: a dark dot in a light ring in every cell of a slanted grid, and a light line with a dark one inside it
 * around each. RGBA, 4 bytes a pixel, row-major, as large as the mask.
 *
 * @param mask 1 inside the areas, row-major
 * @param penPx width of the lines; dots are twice as wide, eight widths apart
 */
export function stippleAreas(mask: Uint8Array, widthPx: number, heightPx: number, penPx: number): Uint8Array {
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  const linePx = Math.max(1, Math.round(penPx));
  const cellPx = Math.max(6, Math.round(penPx * 8));
  const edge = (x: number, y: number, reach: number): boolean =>
    [
      [-reach, 0],
      [reach, 0],
      [0, -reach],
      [0, reach],
    ].some(([dx = 0, dy = 0]) => {
      const [nx, ny] = [x + dx, y + dy];
      return nx >= 0 && nx < widthPx && ny >= 0 && ny < heightPx && mask[ny * widthPx + nx] !== 1;
    });
  for (let y = 0; y < heightPx; y += 1) {
    // Every other row of dots stands half a cell aside.
    const aside = Math.floor(y / cellPx) % 2 === 0 ? 0 : Math.floor(cellPx / 2);
    for (let x = 0; x < widthPx; x += 1) {
      const i = y * widthPx + x;
      if (mask[i] !== 1) continue;
      const fromDot = Math.hypot(((x + aside) % cellPx) - cellPx / 2 + 0.5, (y % cellPx) - cellPx / 2 + 0.5);
      if (edge(x, y, linePx)) rgba.set(LIGHT, i * 4);
      else if (edge(x, y, 2 * linePx) || fromDot <= penPx) rgba.set(DARK, i * 4);
      else if (fromDot <= penPx * 1.8) rgba.set(LIGHT, i * 4);
    }
  }
  return rgba;
}
