import { cellsKernel } from '../cells-kernel.js';
import { pointInImage } from './crop.js';
import type { LandmarkedBody } from './landmarker.js';
import type { PersonMask } from './port.js';

/** One in twenty: what is less likely the person's is left out of the rectangle. */
const LEAST_LOGIT = -Math.log(19);
/** In the rectangle but outside the square that the network saw: surely not the person. */
const UNSEEN_LOGIT = -100;

/**
 * Paints a body's mask at the size of the picture, in the rectangle around all that may be the person.
 * @param maskLogits side x side, over the square `region`
 */
export function paintMask(
  { region, maskLogits }: Pick<LandmarkedBody, 'region' | 'maskLogits'>,
  image: { widthPx: number; heightPx: number },
): PersonMask {
  const side = Math.sqrt(maskLogits.length);
  const cells = likelyCells(maskLogits, side);
  // A cell reaches to the middles of its neighbours.
  const corners = [cells.top - 0.5, cells.bottom + 1.5].flatMap((v) =>
    [cells.left - 0.5, cells.right + 1.5].map((u) => pointInImage(region, u / side, v / side)),
  );
  const [xs, ys] = [corners.map((corner) => corner.x), corners.map((corner) => corner.y)];
  const x = Math.max(0, Math.floor(Math.min(...xs)));
  const y = Math.max(0, Math.floor(Math.min(...ys)));
  const widthPx = Math.min(image.widthPx, Math.ceil(Math.max(...xs))) - x;
  const heightPx = Math.min(image.heightPx, Math.ceil(Math.max(...ys))) - y;
  if (cells.bottom < cells.top || widthPx <= 0 || heightPx <= 0)
    return { x: 0, y: 0, widthPx: 0, heightPx: 0, logits: new Float32Array(0) };
  const scale = side / region.sidePx;
  const stepU = Math.cos(region.turn) * scale;
  const stepV = -Math.sin(region.turn) * scale;
  // From the square's middle to the middle of the rectangle's first pixel.
  const dx = x + 0.5 - region.centre.x;
  const dy = y + 0.5 - region.centre.y;
  const startU = dx * stepU - dy * stepV + side / 2 - 0.5;
  const startV = dy * stepU + dx * stepV + side / 2 - 0.5;
  const { kernel, at, buffer } = cellsKernel({ logits: 4 * maskLogits.length, plane: 4 * widthPx * heightPx });
  new Float32Array(buffer, at.logits).set(maskLogits);
  const plane = new Float32Array(buffer, at.plane, widthPx * heightPx).fill(UNSEEN_LOGIT);
  kernel.paintLogits(at.logits, side, at.plane, widthPx, heightPx, startU, startV, stepU, stepV);
  return { x, y, widthPx, heightPx, logits: plane.slice() };
}

/** The first and last row and column with a logit that is not too small; an empty range where there is none. */
function likelyCells(logits: Float32Array, side: number): { top: number; bottom: number; left: number; right: number } {
  const likely = { top: side, bottom: -1, left: side, right: -1 };
  for (let row = 0; row < side; row++)
    for (let column = 0; column < side; column++) {
      if (logits[row * side + column]! < LEAST_LOGIT) continue;
      likely.top = Math.min(likely.top, row);
      likely.bottom = row;
      likely.left = Math.min(likely.left, column);
      likely.right = Math.max(likely.right, column);
    }
  return likely;
}
