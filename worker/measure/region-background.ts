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
  const near = nearPeople(image, people, owners, window, gap);
  const wide = window.x1 - window.x0 + 1;
  for (let y = window.y0; y <= window.y1; y++) {
    const row = (y - window.y0) * wide;
    for (let x = 0; x < wide; x++) if (!near[row + x]) pixels.push(y * widthPx + window.x0 + x);
  }
  return pixels.pixels();
}

/**
 * 1 where anybody is within `gap` pixels (a square), or a mask is more than faint, or a body must be though only its face
 * was found.
 * @returns rows of the window only
 */
function nearPeople(
  image: WorkingImage,
  people: readonly FoundPerson[],
  owners: Int16Array,
  window: Bounds,
  gap: number,
): Uint8Array {
  const { widthPx, heightPx } = image;
  // What lies farther off than the gap cannot reach into the window.
  const x0 = Math.max(0, window.x0 - gap);
  const y0 = Math.max(0, window.y0 - gap);
  const wide = Math.min(widthPx - 1, window.x1 + gap) - x0 + 1;
  const high = Math.min(heightPx - 1, window.y1 + gap) - y0 + 1;
  const taken = new Uint8Array(wide * high);
  for (let y = 0, to = 0; y < high; y++) {
    let i = (y + y0) * widthPx + x0;
    for (const end = to + wide; to < end; to++, i++) if (owners[i] !== NOBODY) taken[to] = 1;
  }
  for (const { body, face } of people) {
    if (body) {
      const { mask } = body;
      for (let y = 0, to = 0; y < high; y++) {
        let i = (y + y0) * widthPx + x0;
        for (const end = to + wide; to < end; to++, i++) if (mask[i]! > FAINT_LOGIT) taken[to] = 1;
      }
    } else if (face) {
      const { x, y, width, height } = face.boxPx;
      const from = Math.max(0, Math.floor(x + width / 2 - UNSEEN_BODY_FACES * width) - x0);
      const to = Math.min(wide - 1, Math.ceil(x + width / 2 + UNSEEN_BODY_FACES * width) - x0);
      for (let row = Math.max(0, Math.floor(y - height / 2) - y0); row < high && from <= to; row++)
        taken.fill(1, row * wide + from, row * wide + to + 1);
    }
  }
  const grownMarks = grown(taken, wide, high, gap);
  const windowWide = window.x1 - window.x0 + 1;
  const out = new Uint8Array(windowWide * (window.y1 - window.y0 + 1));
  for (let y = window.y0, to = 0; y <= window.y1; y++, to += windowWide) {
    const from = (y - y0) * wide + window.x0 - x0;
    out.set(grownMarks.subarray(from, from + windowWide), to);
  }
  return out;
}

/** Marks all within `radius` of a marked pixel, row-wise and then column-wise. */
function grown(marks: Uint8Array, widthPx: number, heightPx: number, radius: number): Uint8Array {
  const rows = new Uint8Array(marks.length);
  for (let y = 0; y < heightPx; y++) {
    const row = y * widthPx;
    let filled = 0;
    for (let x = 0; x < widthPx; x++) {
      if (!marks[row + x]) continue;
      const to = Math.min(widthPx - 1, x + radius);
      for (let at = Math.max(filled, x - radius); at <= to; at++) rows[row + at] = 1;
      filled = to + 1;
    }
  }
  const out = new Uint8Array(marks.length);
  const filled = new Int32Array(widthPx);
  for (let y = 0; y < heightPx; y++) {
    const row = y * widthPx;
    for (let x = 0; x < widthPx; x++) {
      if (!rows[row + x]) continue;
      const to = Math.min(heightPx - 1, y + radius);
      for (let at = Math.max(filled[x]!, y - radius); at <= to; at++) out[at * widthPx + x] = 1;
      filled[x] = to + 1;
    }
  }
  return out;
}
