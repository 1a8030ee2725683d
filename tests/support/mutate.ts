export type MutationKind = 'flip' | 'overwrite' | 'cut' | 'drop' | 'splice' | 'duplicate' | 'swap';

export interface Mutation {
  kind: MutationKind;
  bytes: Buffer;
  /** For reports: enough to make the same again. */
  told: string;
}

/** A seeded generator of numbers 0 <= x < 1 (mulberry32): the same seed gives the same mutations everywhere. */
export function seededRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

const KINDS: readonly MutationKind[] = ['flip', 'overwrite', 'cut', 'drop', 'splice', 'duplicate', 'swap'];

/**
 * One damaged copy of a file. `flip` turns bits, `overwrite` writes numbers that length and offset fields dislike,
 * `cut` ends the file early, `drop` takes bytes out of its middle, `splice` puts foreign bytes in, `duplicate`
 * repeats a part, `swap` exchanges two parts. Half of the changes fall into the first kilobyte, where headers are.
 */
export function mutate(original: Buffer, seed: number): Mutation {
  const random = seededRandom(seed);
  const kind = KINDS[Math.floor(random() * KINDS.length)] ?? 'flip';
  const below = (limit: number): number => Math.floor(random() * Math.max(1, limit));
  const somewhere = (): number => (random() < 0.5 ? below(Math.min(1024, original.length)) : below(original.length));
  const told = `seed ${seed}, ${kind}`;
  switch (kind) {
    case 'flip': {
      const bytes = Buffer.from(original);
      for (let left = 1 + below(8); left > 0; left -= 1) {
        const at = somewhere();
        bytes[at] = (bytes[at] ?? 0) ^ (1 << below(8));
      }
      return { kind, bytes, told };
    }
    case 'overwrite': {
      const bytes = Buffer.from(original);
      const values = [0, 1, 0x7f, 0x80, 0xff];
      const value = values[below(values.length)] ?? 0;
      const at = somewhere();
      bytes.fill(value, at, Math.min(bytes.length, at + 1 + below(8)));
      return { kind, bytes, told };
    }
    case 'cut':
      return { kind, bytes: Buffer.from(original.subarray(0, 1 + below(original.length - 1))), told };
    case 'drop': {
      const at = somewhere();
      const lengthBytes = 1 + below(Math.min(2048, original.length - at));
      return { kind, bytes: Buffer.concat([original.subarray(0, at), original.subarray(at + lengthBytes)]), told };
    }
    case 'splice': {
      const at = somewhere();
      const foreign = Buffer.from(Array.from({ length: 1 + below(256) }, () => below(256)));
      return { kind, bytes: Buffer.concat([original.subarray(0, at), foreign, original.subarray(at)]), told };
    }
    case 'duplicate': {
      const at = somewhere();
      const part = original.subarray(at, at + 1 + below(1024));
      return { kind, bytes: Buffer.concat([original.subarray(0, at), part, original.subarray(at)]), told };
    }
    case 'swap': {
      const bytes = Buffer.from(original);
      const lengthBytes = 1 + below(Math.min(256, Math.floor(original.length / 2)));
      const [a, b] = [below(original.length - lengthBytes), below(original.length - lengthBytes)];
      original.copy(bytes, a, b, b + lengthBytes);
      original.copy(bytes, b, a, a + lengthBytes);
      return { kind, bytes, told };
    }
  }
}
