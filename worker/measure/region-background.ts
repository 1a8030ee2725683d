import { cellsKernel } from '../cells-kernel.js';
import { FAINT_LOGIT, NOBODY } from './region-owners.js';
import type { FoundPerson } from '../people/port.js';
import { boundsOf, PixelList, type Bounds, type Pixels } from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** Pixels this close to any person, in shares of the main person's height, are not background: mask edges and hair. */
const GAP_SHARE = 0.03;
/** The ring ends this far from the main person's bounds, in shares of their height. */
const RING_SHARE = 0.35;
/** A face without a body stands for a body this many face widths wide. */
const UNSEEN_BODY_FACES = 1.6;

/**
 * Background beside and behind the main person: at the person's heights, at a short distance from the mask,
 * without anybody else. Without people: every `step`-th pixel of the frame.
 * @param personPixels the main person's pixels; empty when nobody was found
 */
export function backgroundPixelsOf(
  image: WorkingImage,
  people: readonly FoundPerson[],
  owners: Int16Array,
  personPixels: Pixels,
): Pixels {
  const { widthPx, heightPx } = image;
  const pixels = new PixelList();
  if (personPixels.length === 0) {
    for (let i = 0; i < owners.length; i++) if (owners[i] === NOBODY) pixels.push(i);
    return pixels.pixels();
  }
  const person = boundsOf(personPixels, widthPx, heightPx);
  const height = person.y1 - person.y0 + 1;
  const gap = Math.max(2, Math.round(GAP_SHARE * height));
  const ring = Math.round(RING_SHARE * height);
  const window = {
    x0: Math.max(0, person.x0 - ring),
    y0: person.y0,
    x1: Math.min(widthPx - 1, person.x1 + ring),
    y1: person.y1,
  };
  return unmarkedOf(window, image, people, gap);
}

/**
 * The pixels of a window that nobody is near: with no mask more than faint within `gap` pixels (a square), and no body that
 * must be there though only its face was found.
 */
function unmarkedOf(window: Bounds, image: WorkingImage, people: readonly FoundPerson[], gap: number): Pixels {
  const { widthPx, heightPx } = image;
  const wide = window.x1 - window.x0 + 1;
  const high = window.y1 - window.y0 + 1;
  // Marks stand with the gap around the window: what lies farther off cannot reach into it.
  const stride = wide + 2 * gap;
  const rows = high + 2 * gap;
  // Of those, the ones in the image.
  const x0 = Math.max(0, window.x0 - gap);
  const y0 = Math.max(0, window.y0 - gap);
  const x1 = Math.min(widthPx - 1, window.x1 + gap);
  const y1 = Math.min(heightPx - 1, window.y1 + gap);
  const placeOf = (x: number, y: number) => (y - window.y0 + gap) * stride + x - window.x0 + gap;
  const length = stride * rows;
  const slack = stride * (2 * gap + 1) + 32;
  const planeLength = Math.max(0, ...people.map(({ body }) => body?.mask.logits.length ?? 0));
  const { kernel, at, buffer } = cellsKernel({
    marks: length + slack,
    plane: 4 * planeLength,
    out: 4 * wide * high + 4,
  });
  const marks = new Uint8Array(buffer, at.marks, length + slack).fill(0);
  const plane = new Float32Array(buffer, at.plane, planeLength);
  for (const { body, face } of people) {
    if (body) {
      const { mask } = body;
      const [left, top] = [Math.max(x0, mask.x), Math.max(y0, mask.y)];
      const across = Math.min(x1 + 1, mask.x + mask.widthPx) - left;
      const down = Math.min(y1 + 1, mask.y + mask.heightPx) - top;
      if (across <= 0 || down <= 0) continue;
      plane.set(mask.logits);
      const first = at.plane + 4 * ((top - mask.y) * mask.widthPx + left - mask.x);
      kernel.markAbove(first, mask.widthPx, across, down, FAINT_LOGIT, at.marks + placeOf(left, top), stride);
    } else if (face) {
      const { x, y, width, height } = face.boxPx;
      const from = Math.max(x0, Math.floor(x + width / 2 - UNSEEN_BODY_FACES * width));
      const to = Math.min(x1, Math.ceil(x + width / 2 + UNSEEN_BODY_FACES * width));
      for (let row = Math.max(y0, Math.floor(y - height / 2)); row <= y1 && from <= to; row++)
        marks.fill(1, placeOf(from, row), placeOf(to, row) + 1);
    }
  }
  // A mark `gap` before a pixel to `gap` behind it, first along rows, then down columns: afterwards marks stand at the
  // beginning of their reach, so that the window's begin at 0.
  for (const unit of [1, stride]) {
    let reached = 1;
    for (; 2 * reached <= 2 * gap + 1; reached *= 2) kernel.spreadMarks(at.marks, length, reached * unit);
    kernel.spreadMarks(at.marks, length, (2 * gap + 1 - reached) * unit);
  }
  const first = window.y0 * widthPx + window.x0;
  const count = kernel.unmarked(at.marks, stride, wide, high, first, widthPx, at.out);
  return new Int32Array(buffer, at.out, count).slice();
}
