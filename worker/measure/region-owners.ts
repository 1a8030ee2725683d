import type { FoundPerson, PersonMask } from '../people/port.js';
import type { Pixels } from './region-pixels.js';

/** A pixel belongs to a person from this logit of the mask on: as likely as not. */
const MEMBER_LOGIT = 0;
/** From this logit on a mask is more than faint: one in four. */
export const FAINT_LOGIT = -Math.log(3);

/** No person. */
export const NOBODY = -1;

/**
 * Which person each pixel belongs to: the one whose mask is highest there, if at least as likely as not; where
 * masks tie, the earlier person. A face without a body owns its box.
 * @returns height x width: index into `people`, or -1
 */
export function ownersOf(people: readonly FoundPerson[], widthPx: number, heightPx: number): Int16Array {
  const owners = new Int16Array(widthPx * heightPx).fill(NOBODY);
  const masks = people.map(({ body }) => body?.mask ?? null);
  if (masks.length === 1) {
    if (masks[0]) own(owners, masks[0], widthPx);
  } else {
    const strongest = new Float32Array(widthPx * heightPx).fill(-Infinity);
    masks.forEach((mask, person) => mask && ownStronger(owners, strongest, mask, person, widthPx));
  }
  people.forEach(({ body, face }, person) => {
    if (body || !face) return;
    const { x, y, width, height } = face.boxPx;
    const x1 = Math.min(widthPx - 1, Math.ceil(x + width));
    const y1 = Math.min(heightPx - 1, Math.ceil(y + height));
    for (let py = Math.max(0, Math.floor(y)); py <= y1; py++) {
      for (let px = Math.max(0, Math.floor(x)); px <= x1; px++) owners[py * widthPx + px] = person;
    }
  });
  return owners;
}

/** The only person owns all that is theirs. */
function own(owners: Int16Array, mask: PersonMask, imageWidthPx: number): void {
  for (let y = 0, from = 0; y < mask.heightPx; y++) {
    let i = (mask.y + y) * imageWidthPx + mask.x;
    for (const end = from + mask.widthPx; from < end; from++, i++)
      if (mask.logits[from]! >= MEMBER_LOGIT) owners[i] = 0;
  }
}

function ownStronger(
  owners: Int16Array,
  strongest: Float32Array,
  mask: PersonMask,
  person: number,
  imageWidthPx: number,
): void {
  for (let y = 0, from = 0; y < mask.heightPx; y++) {
    let i = (mask.y + y) * imageWidthPx + mask.x;
    for (const end = from + mask.widthPx; from < end; from++, i++) {
      const value = mask.logits[from]!;
      if (value >= MEMBER_LOGIT && value > strongest[i]!) {
        strongest[i] = value;
        owners[i] = person;
      }
    }
  }
}

/** Two pixels that are nobody's, read at once. */
const NOBODYS_PAIR = -1;

/** Each person's pixels, ascending. */
export function pixelsByOwner(owners: Int16Array, people: number): Pixels[] {
  const pairs = new Int32Array(owners.buffer, owners.byteOffset, owners.length >> 1);
  const counts = new Int32Array(people);
  for (let pair = 0; pair < pairs.length; pair++) {
    if (pairs[pair] === NOBODYS_PAIR) continue;
    const left = owners[2 * pair]!;
    const right = owners[2 * pair + 1]!;
    if (left >= 0) counts[left]!++;
    if (right >= 0) counts[right]!++;
  }
  const odd = owners.length % 2 === 1 ? owners[owners.length - 1]! : NOBODY;
  if (odd >= 0) counts[odd]!++;
  const owned = Array.from(counts, (count) => new Int32Array(count));
  counts.fill(0);
  for (let pair = 0; pair < pairs.length; pair++) {
    if (pairs[pair] === NOBODYS_PAIR) continue;
    const left = owners[2 * pair]!;
    const right = owners[2 * pair + 1]!;
    if (left >= 0) owned[left]![counts[left]!++] = 2 * pair;
    if (right >= 0) owned[right]![counts[right]!++] = 2 * pair + 1;
  }
  if (odd >= 0) owned[odd]![counts[odd]!] = owners.length - 1;
  return owned;
}
