import { cellsKernel } from '../cells-kernel.js';
import { LightTally, TALLY_BYTES } from './light-tally.js';
import { FAINT_LOGIT, NOBODY } from './region-owners.js';
import type { FoundPerson, PersonMask } from '../people/port.js';
import {
  boundsOf,
  levelStopsOfTally,
  regionLevelStops,
  SORTED_UP_TO,
  TRIM_SHARE,
  type Bounds,
  type Pixels,
} from './region-pixels.js';
import type { WorkingImage } from './working-image.js';

/** Pixels this close to any person, in shares of the main person's height, are not background: mask edges and hair. */
const GAP_SHARE = 0.03;
/** The ring ends this far from the main person's bounds, in shares of their height. */
const RING_SHARE = 0.35;
/** A face without a body stands for a body this many face widths wide. */
const UNSEEN_BODY_FACES = 1.6;
/** Values of a mask handed to the kernel at a time, about: few enough to stay in the cache. */
const PIECE = 16_384;

export interface BackgroundLight {
  /** How many pixels it rests on. */
  pixels: number;
  levelStops: number | null;
  /** Mean linear RGB of those of its pixels of which nothing is clipped; null without any. */
  rgb: [number, number, number] | null;
}

/**
 * Light of the background beside and behind the main person: at the person's heights, at a short distance from the mask,
 * without anybody else. Without a main person: of all that is nobody's.
 * @param personPixels the main person's pixels; empty when nobody was found
 */
export function backgroundOf(
  image: WorkingImage,
  people: readonly FoundPerson[],
  owners: Int16Array,
  personPixels: Pixels,
): BackgroundLight {
  const { widthPx, heightPx } = image;
  if (personPixels.length === 0) {
    const marks = openMarks(image, { x0: 0, y0: 0, x1: widthPx - 1, y1: heightPx - 1 }, 0);
    for (let i = 0; i < owners.length; i++) marks.bytes[i] = owners[i] === NOBODY ? 0 : 1;
    return lightOfUnmarked(image, marks);
  }
  const person = boundsOf(personPixels, widthPx, heightPx);
  const height = person.y1 - person.y0 + 1;
  const gap = Math.max(2, Math.round(GAP_SHARE * height));
  const ring = Math.round(RING_SHARE * height);
  const marks = openMarks(
    image,
    {
      x0: Math.max(0, person.x0 - ring),
      y0: person.y0,
      x1: Math.min(widthPx - 1, person.x1 + ring),
      y1: person.y1,
    },
    gap,
  );
  for (const { body, face } of people) {
    if (body) markMask(marks, body.mask);
    else if (face) {
      const { x, y, width, height } = face.boxPx;
      const from = Math.max(marks.reach.x0, Math.floor(x + width / 2 - UNSEEN_BODY_FACES * width));
      const to = Math.min(marks.reach.x1, Math.ceil(x + width / 2 + UNSEEN_BODY_FACES * width));
      const first = Math.max(marks.reach.y0, Math.floor(y - height / 2));
      for (let row = first; row <= marks.reach.y1 && from <= to; row++)
        marks.bytes.fill(1, placeOf(marks, from, row), placeOf(marks, to, row) + 1);
    }
  }
  spread(marks);
  return lightOfUnmarked(image, marks);
}

/** Where a window is not background, in the kernel's memory: a byte a pixel, rows of `stride`, with the gap all around. */
interface Marks extends ReturnType<typeof kernelFor> {
  window: Bounds;
  gap: number;
  stride: number;
  /** The window with the gap, as far as it is in the image: what lies farther off cannot reach into the window. */
  reach: Bounds;
  bytes: Uint8Array;
}

function kernelFor(marks: number, widthPx: number, wide: number) {
  return cellsKernel({
    marks,
    plane: 4 * Math.max(PIECE, widthPx),
    luminances: 4 * wide,
    rgb: 12 * wide,
    clipped: 4 * wide,
    kept: 4 * wide,
    tally: TALLY_BYTES,
    sums: 32,
    few: 4 * SORTED_UP_TO + 4,
  });
}

function openMarks({ widthPx, heightPx }: WorkingImage, window: Bounds, gap: number): Marks {
  const wide = window.x1 - window.x0 + 1;
  const stride = wide + 2 * gap;
  const length = stride * (window.y1 - window.y0 + 1 + 2 * gap);
  // Spreading reads and writes past the end.
  const room = kernelFor(length + stride * (2 * gap + 1) + 32, widthPx, wide);
  const reach = {
    x0: Math.max(0, window.x0 - gap),
    y0: Math.max(0, window.y0 - gap),
    x1: Math.min(widthPx - 1, window.x1 + gap),
    y1: Math.min(heightPx - 1, window.y1 + gap),
  };
  const bytes = new Uint8Array(room.buffer, room.at.marks, length + stride * (2 * gap + 1) + 32).fill(0);
  return { ...room, window, gap, stride, reach, bytes };
}

function placeOf({ window, gap, stride }: Marks, x: number, y: number): number {
  return (y - window.y0 + gap) * stride + x - window.x0 + gap;
}

/** Marks where a mask is more than faint. */
function markMask(marks: Marks, mask: PersonMask): void {
  const { kernel, at, buffer, reach, stride } = marks;
  const left = Math.max(reach.x0, mask.x);
  const across = Math.min(reach.x1 + 1, mask.x + mask.widthPx) - left;
  const end = Math.min(reach.y1 + 1, mask.y + mask.heightPx);
  if (across <= 0) return;
  const plane = new Float32Array(buffer, at.plane, Math.max(PIECE, mask.widthPx));
  const rows = Math.max(1, Math.floor(PIECE / mask.widthPx));
  for (let y = Math.max(reach.y0, mask.y); y < end; y += rows) {
    const down = Math.min(rows, end - y);
    plane.set(mask.logits.subarray((y - mask.y) * mask.widthPx, (y - mask.y + down) * mask.widthPx));
    const first = at.plane + 4 * (left - mask.x);
    kernel.markAbove(first, mask.widthPx, across, down, FAINT_LOGIT, at.marks + placeOf(marks, left, y), stride);
  }
}

/**
 * Marks what is within the gap of a mark (a square): first along rows, then down columns. Afterwards marks stand at the
 * beginning of their reach, so that the window's begin at 0.
 */
function spread({ kernel, at, window, gap, stride }: Marks): void {
  const length = stride * (window.y1 - window.y0 + 1 + 2 * gap);
  for (const unit of [1, stride]) {
    let reached = 1;
    for (; 2 * reached <= 2 * gap + 1; reached *= 2) kernel.spreadMarks(at.marks, length, reached * unit);
    kernel.spreadMarks(at.marks, length, (2 * gap + 1 - reached) * unit);
  }
}

/** Light of a window's pixels without a mark; marks begin at 0. */
function lightOfUnmarked(image: WorkingImage, { kernel, at, buffer, window, stride }: Marks): BackgroundLight {
  const { widthPx } = image;
  const wide = window.x1 - window.x0 + 1;
  const luminances = new Float32Array(buffer, at.luminances, wide);
  const rgb = new Float32Array(buffer, at.rgb, 3 * wide);
  const clipped = new Float32Array(buffer, at.clipped, wide);
  const sums = new Float64Array(buffer, at.sums, 4).fill(0);
  new Uint8Array(buffer, at.tally, TALLY_BYTES).fill(0);
  let pixels = 0;
  for (let y = window.y0, marks = at.marks; y <= window.y1; y++, marks += stride) {
    const from = y * widthPx + window.x0;
    luminances.set(image.linearY.subarray(from, from + wide));
    rgb.set(image.linearRgb.subarray(3 * from, 3 * (from + wide)));
    clipped.set(image.clippedShare.subarray(from, from + wide));
    pixels += kernel.tallyUnmarked(marks, wide, at.luminances, at.rgb, at.clipped, at.kept, at.tally, at.sums);
  }
  const [red, green, blue, whole] = sums as unknown as [number, number, number, number];
  const first = window.y0 * widthPx + window.x0;
  const few = pixels > SORTED_UP_TO ? 0 : kernel.unmarked(at.marks, stride, wide, window.y1 - window.y0 + 1, first, widthPx, at.few); // prettier-ignore
  return {
    pixels,
    levelStops:
      pixels > SORTED_UP_TO
        ? levelStopsOfTally(LightTally.from(buffer, at.tally), TRIM_SHARE)
        : regionLevelStops(image, new Int32Array(buffer, at.few, few).slice()),
    rgb: whole === 0 ? null : [red / whole, green / whole, blue / whole],
  };
}
