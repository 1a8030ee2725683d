/** The picture's window on the scene. */
export interface Crop {
  /** Left, top, width and height as shares of the render; inside 0..1. */
  x: number;
  y: number;
  width: number;
  height: number;
}

export interface Framing {
  crop: Crop;
  mirrored: boolean;
  /** Size of the upright frame. */
  widthPx: number;
  heightPx: number;
}

interface Grid {
  widthPx: number;
  heightPx: number;
}

/** Catmull-Rom weights for the four samples around a fraction t in 0..1. */
function weights(t: number): [number, number, number, number] {
  const t2 = t * t;
  const t3 = t2 * t;
  return [-0.5 * t3 + t2 - 0.5 * t, 1.5 * t3 - 2.5 * t2 + 1, -1.5 * t3 + 2 * t2 + 0.5 * t, 0.5 * t3 - 0.5 * t2];
}

function sourceX(framing: Framing, grid: Grid, column: number): number {
  const share = (column + 0.5) / framing.widthPx;
  return (framing.crop.x + framing.crop.width * (framing.mirrored ? 1 - share : share)) * grid.widthPx - 0.5;
}

function sourceY(framing: Framing, grid: Grid, row: number): number {
  return (framing.crop.y + (framing.crop.height * (row + 0.5)) / framing.heightPx) * grid.heightPx - 0.5;
}

/** Resamples linear values (Catmull-Rom, clamped at 0). `source`: height x width x channels, row-major. */
export function resampleLinear(source: Float32Array, grid: Grid, channels: number, framing: Framing): Float32Array {
  const across = new Float32Array(framing.widthPx * grid.heightPx * channels);
  for (let column = 0; column < framing.widthPx; column++) {
    const at = sourceX(framing, grid, column);
    const base = Math.floor(at);
    const w = weights(at - base);
    for (let tap = 0; tap < 4; tap++) {
      const x = Math.min(grid.widthPx - 1, Math.max(0, base - 1 + tap));
      const weight = w[tap] ?? 0;
      for (let y = 0; y < grid.heightPx; y++) {
        const from = (y * grid.widthPx + x) * channels;
        const to = (y * framing.widthPx + column) * channels;
        for (let c = 0; c < channels; c++) across[to + c] = (across[to + c] ?? 0) + weight * (source[from + c] ?? 0);
      }
    }
  }
  const out = new Float32Array(framing.widthPx * framing.heightPx * channels);
  const rowLength = framing.widthPx * channels;
  for (let row = 0; row < framing.heightPx; row++) {
    const at = sourceY(framing, grid, row);
    const base = Math.floor(at);
    const w = weights(at - base);
    for (let tap = 0; tap < 4; tap++) {
      const y = Math.min(grid.heightPx - 1, Math.max(0, base - 1 + tap));
      const weight = w[tap] ?? 0;
      for (let i = 0; i < rowLength; i++)
        out[row * rowLength + i] = (out[row * rowLength + i] ?? 0) + weight * (across[y * rowLength + i] ?? 0);
    }
  }
  for (let i = 0; i < out.length; i++) if ((out[i] ?? 0) < 0) out[i] = 0;
  return out;
}

/** Nearest neighbour, for part ids. */
export function resampleIds(source: Uint8Array, grid: Grid, framing: Framing): Uint8Array {
  const out = new Uint8Array(framing.widthPx * framing.heightPx);
  for (let row = 0; row < framing.heightPx; row++) {
    const y = Math.min(grid.heightPx - 1, Math.max(0, Math.round(sourceY(framing, grid, row))));
    for (let column = 0; column < framing.widthPx; column++) {
      const x = Math.min(grid.widthPx - 1, Math.max(0, Math.round(sourceX(framing, grid, column))));
      out[row * framing.widthPx + column] = source[y * grid.widthPx + x] ?? 0;
    }
  }
  return out;
}
