import { difference, medianKnown, spreadKnown, type Unknown } from './known.js';
import type { FrameFacts } from './facts.js';
import type { SequenceFrame } from './sequence.js';

/** How far one frame's colour stands from its set-up's. Positive mired: warmer. Positive Duv: greener. */
export interface FrameCast {
  mired: Unknown;
  duv: Unknown;
  witnesses: 'both' | 'one' | 'disagree' | 'none';
  spreadMired: number;
}

/** Two witnesses of the colour this near say the same; ours. */
const AGREEMENT_MIRED = 18;
const LEAST_SPREAD_MIRED = 3;

/** The wall against the set-up's wall, and skin against the same sitter's skin; the neutral estimate where neither is there. */
export function castsOf(frames: readonly SequenceFrame[]): FrameCast[] {
  const wallMired = againstAll(frames, (facts) => facts.backgroundMired);
  const wallDuv = againstAll(frames, (facts) => facts.backgroundDuv);
  const skinMired = againstOwn(frames, (facts) => facts.skinMired, wallMired, wallMired);
  const skinDuv = againstOwn(frames, (facts) => facts.skinDuv, wallMired, wallDuv);
  const neutralMired = againstAll(frames, (facts) => facts.neutralMired);
  const neutralDuv = againstAll(frames, (facts) => facts.neutralDuv);
  const spreadMired = Math.max(LEAST_SPREAD_MIRED, spreadKnown(wallMired) ?? 0, spreadKnown(skinMired) ?? 0);
  return frames.map((_, i) => {
    const wall = wallMired[i] ?? null;
    const skin = skinMired[i] ?? null;
    if (wall !== null && skin !== null) {
      const agree = Math.abs(wall - skin) <= AGREEMENT_MIRED + 0.3 * Math.max(Math.abs(wall), Math.abs(skin));
      const smaller = Math.abs(wall) < Math.abs(skin) ? wall : skin;
      const duvs = [wallDuv[i] ?? null, skinDuv[i] ?? null];
      return {
        mired: agree ? (wall + skin) / 2 : smaller,
        duv: smallest(duvs),
        witnesses: agree ? 'both' : 'disagree',
        spreadMired,
      };
    }
    const one = wall ?? skin ?? neutralMired[i] ?? null;
    const duv = wall !== null ? wallDuv[i] : skin !== null ? skinDuv[i] : neutralDuv[i];
    return { mired: one, duv: duv ?? null, witnesses: one === null ? 'none' : 'one', spreadMired };
  });
}

/** What both agree on at least; a shift that only one of the two sees is not a cast of the light. */
function smallest(values: readonly Unknown[]): Unknown {
  const [a, b] = values;
  if (a === null || a === undefined) return b ?? null;
  if (b === null || b === undefined) return a;
  return Math.sign(a) === Math.sign(b) ? (Math.abs(a) < Math.abs(b) ? a : b) : 0;
}

function againstAll(frames: readonly SequenceFrame[], read: (facts: FrameFacts) => Unknown): Unknown[] {
  const values = frames.map((frame) => read(frame.facts));
  const usual = medianKnown(values);
  return values.map((value) => difference(value, usual));
}

/** Within this of the set-up's wall a frame is taken as properly coloured when a sitter's skin is learned. Ours. */
const PROPER_MIRED = 12;

/** Skin against the same sitter's; where the wall says that no frame of a sitter is right, its word is taken out first. */
function againstOwn(
  frames: readonly SequenceFrame[],
  read: (facts: FrameFacts) => Unknown,
  wallMired: readonly Unknown[],
  wallOfSameKind: readonly Unknown[],
): Unknown[] {
  const own = new Map<number, number[]>();
  frames.forEach((frame, i) => {
    const members = own.get(frame.sitter);
    if (members === undefined) own.set(frame.sitter, [i]);
    else members.push(i);
  });
  const against: Unknown[] = frames.map(() => null);
  for (const members of own.values()) {
    const values = members.map((i) => read((frames[i] as SequenceFrame).facts));
    if (values.filter((value) => value !== null).length < 2) continue;
    const proper = members.flatMap((i, k) =>
      Math.abs(wallMired[i] ?? Infinity) <= PROPER_MIRED ? [values[k] ?? null] : [],
    );
    const usual =
      proper.length > 0
        ? medianKnown(proper)
        : medianKnown(members.map((i, k) => difference(values[k] ?? null, wallOfSameKind[i] ?? 0)));
    members.forEach((i, k) => (against[i] = difference(values[k] ?? null, usual)));
  }
  return against;
}
