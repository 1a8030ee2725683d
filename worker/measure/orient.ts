/** Standing an image upright by its Exif orientation (JEITA CP-3451, tag 274). */

export interface Plane<T extends Float32Array | Uint8Array> {
  data: T;
  widthPx: number;
  heightPx: number;
  channels: number;
}

/** Orientations 5 to 8 exchange width and height. */
export function swapsAxes(orientation: number): boolean {
  return orientation >= 5 && orientation <= 8;
}

/**
 * Returns the upright plane; orientation 1 (and reserved values) returns the input unchanged.
 * `data` is height x width x channels, row-major.
 */
export function orientPlane<T extends Float32Array | Uint8Array>(plane: Plane<T>, orientation: number): Plane<T> {
  if (orientation < 2 || orientation > 8) return plane;
  const { data, widthPx: w, heightPx: h, channels } = plane;
  const swap = swapsAxes(orientation);
  const outW = swap ? h : w;
  const out = new (data.constructor as new (length: number) => T)(data.length);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const [ux, uy] = uprightPosition(orientation, x, y, w, h);
      const from = (y * w + x) * channels;
      const to = (uy * outW + ux) * channels;
      for (let c = 0; c < channels; c++) out[to + c] = data[from + c] as number;
    }
  }
  return { data: out, widthPx: outW, heightPx: swap ? w : h, channels };
}

/** Stored pixel (x, y) of a w x h image -> its upright position. */
export function uprightPosition(orientation: number, x: number, y: number, w: number, h: number): [number, number] {
  switch (orientation) {
    case 2:
      return [w - 1 - x, y];
    case 3:
      return [w - 1 - x, h - 1 - y];
    case 4:
      return [x, h - 1 - y];
    case 5:
      return [y, x];
    case 6:
      return [h - 1 - y, x];
    case 7:
      return [h - 1 - y, w - 1 - x];
    case 8:
      return [y, w - 1 - x];
    default:
      return [x, y];
  }
}
