/**
 * Seeded random numbers, so that the same specification always gives the same file.
 * Generator: sfc32 (C. Doty-Humphrey, PractRand), seeded by FNV-1a hashes of a text; both from memory.
 */
export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal, mean 0, standard deviation 1 (Box-Muller). */
  normal(): number;
}

function fnv1a32(text: string, basis: number): number {
  let hash = basis >>> 0;
  for (let i = 0; i < text.length; i++) {
    hash ^= text.charCodeAt(i);
    hash = Math.imul(hash, 0x01000193);
  }
  return hash >>> 0;
}

/** @param seed any text; equal texts give equal sequences. */
export function seededRandom(seed: string): Random {
  let a = fnv1a32(seed, 0x811c9dc5);
  let b = fnv1a32(seed, 0x9747b28c);
  let c = fnv1a32(seed, 0x1b873593);
  let counter = 1;
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return t >>> 0;
  };
  for (let i = 0; i < 16; i++) next();
  const uniform = () => next() / 4294967296;
  let spare: number | null = null;
  const normal = (): number => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
  return { uniform, normal };
}
