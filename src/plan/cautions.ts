import { cautionsFor } from '../shoot/cautions.js';

export interface AdviceOnLights {
  /** null: not told, so both kinds' cautions are given. */
  light: 'flash' | 'continuous' | null;
  /** The light stands, or may come to stand, above a person's head. */
  overhead: boolean;
}

const OVERHEAD =
  'A light above people hangs by a safety cable besides its clamp, its boom carries a counterweight, and it is raised with nobody under it.';

/** The cautions of a report's own advice to move or turn a light, and what hanging one above people needs. */
export function planCautions(advice: AdviceOnLights): string[] {
  const kinds = advice.light === null ? (['flash', 'continuous'] as const) : [advice.light];
  const general = kinds.map((kind) =>
    cautionsFor(new Set(['light-changed'] as const), { kind, shutterWeight: kind === 'flash' ? 0 : 1, because: '' }),
  );
  const sentences = [...new Set(general.flat())];
  // The word on local rules and qualified people stays the last one.
  const last = sentences.filter((sentence) => general.every((list) => list.at(-1) === sentence));
  const before = sentences.filter((sentence) => !last.includes(sentence));
  return [...before, ...(advice.overhead ? [OVERHEAD] : []), ...last];
}
