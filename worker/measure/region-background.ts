import { MASK_MEMBER, NOBODY } from './region-owners.js';
import type { FoundPerson } from '../people/port.js';
import { boundsOf, PixelList, type Pixels } from './region-pixels.js';
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
  const near = nearPeople(image, people, owners, gap);
  for (let y = person.y0; y <= person.y1; y++) {
    for (let x = Math.max(0, person.x0 - ring); x <= Math.min(widthPx - 1, person.x1 + ring); x++) {
      const i = y * widthPx + x;
      if (!near[i]) pixels.push(i);
    }
  }
  return pixels.pixels();
}

/** 1 where anybody is within `gap` pixels (a square), or a mask is more than faint, or a body must be though only its face was found. */
function nearPeople(image: WorkingImage, people: readonly FoundPerson[], owners: Int16Array, gap: number): Uint8Array {
  const { widthPx, heightPx } = image;
  const taken = new Uint8Array(owners.length);
  for (let i = 0; i < owners.length; i++) if (owners[i] !== NOBODY) taken[i] = 1;
  for (const { body, face } of people) {
    if (body) {
      for (let i = 0; i < taken.length; i++) if (body.mask[i]! > MASK_MEMBER / 2) taken[i] = 1;
    } else if (face) {
      const { x, y, width, height } = face.boxPx;
      const x0 = Math.max(0, Math.floor(x + width / 2 - UNSEEN_BODY_FACES * width));
      const x1 = Math.min(widthPx - 1, Math.ceil(x + width / 2 + UNSEEN_BODY_FACES * width));
      for (let row = Math.max(0, Math.floor(y - height / 2)); row < heightPx; row++)
        taken.fill(1, row * widthPx + x0, row * widthPx + x1 + 1);
    }
  }
  return grown(taken, widthPx, heightPx, gap);
}

/** Marks all within `radius` of a marked pixel, row-wise and then column-wise. */
function grown(marks: Uint8Array, widthPx: number, heightPx: number, radius: number): Uint8Array {
  const rows = new Uint8Array(marks.length);
  for (let y = 0; y < heightPx; y++) {
    let last = -Infinity;
    for (let x = 0, i = y * widthPx; x < widthPx; x++, i++) {
      if (marks[i]) last = x;
      if (x - last <= radius) rows[i] = 1;
    }
    last = Infinity;
    for (let x = widthPx - 1, i = y * widthPx + x; x >= 0; x--, i--) {
      if (marks[i]) last = x;
      if (last - x <= radius) rows[i] = 1;
    }
  }
  const out = new Uint8Array(marks.length);
  const last = new Float64Array(widthPx).fill(-Infinity);
  for (let y = 0, i = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++, i++) {
      if (rows[i]) last[x] = y;
      if (y - last[x]! <= radius) out[i] = 1;
    }
  }
  last.fill(Infinity);
  for (let y = heightPx - 1; y >= 0; y--) {
    for (let x = 0, i = y * widthPx; x < widthPx; x++, i++) {
      if (rows[i]) last[x] = y;
      if (last[x]! - y <= radius) out[i] = 1;
    }
  }
  return out;
}
