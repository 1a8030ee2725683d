import { withMendedChecksums } from './icc-writer.js';
import { partsOf, type FilePart } from './file-parts.js';
import { seededRandom } from './mutate.js';

export type PartMutationKind = 'two files' | 'part twice' | 'parts swapped' | 'part gone' | 'length';

export interface PartMutation {
  kind: PartMutationKind;
  bytes: Buffer;
  /** Every cut fell between parts: what is left is whole in itself, and its pixels can be told to be right or wrong. */
  betweenParts: boolean;
  /** For reports: enough to make the same again. */
  told: string;
}

/** Of a TIFF directory. */
const ENTRY_BYTES = 12;

const KINDS: readonly PartMutationKind[] = ['two files', 'part twice', 'parts swapped', 'part gone', 'length'];

/**
 * One copy of a file whose parts are each whole and yet do not belong so: `two files` is the head of this one and the tail
 * of another, mostly cut between parts; a part repeated, two parts exchanged, a part left out; `length` writes one off,
 * none at all or the greatest number into a length (or count, in TIFF) field. Entries of a TIFF directory are written over
 * one another or blanked, so that nothing behind them moves. PNG checksums are set right again. Formats of which no parts
 * are known are cut anywhere.
 */
export function mutateParts(original: Buffer, other: Buffer, seed: number): PartMutation {
  const random = seededRandom(seed ^ 0x5ca1ab1e);
  const below = (limit: number): number => Math.floor(random() * Math.max(1, limit));
  const kind = KINDS[below(KINDS.length)] ?? 'length';
  const parts = partsOf(original);
  let betweenParts = true;
  const part = (of: Buffer, its: readonly FilePart[]): { start: number; end: number } => {
    const known = its[below(its.length)];
    if (known !== undefined && random() < 0.9) return known;
    betweenParts = false;
    const start = below(of.length);
    return { start, end: Math.min(of.length, start + 1 + below(512)) };
  };
  const mended = (bytes: Buffer): Buffer =>
    bytes.toString('latin1', 0, 4) === '\x89PNG' ? withMendedChecksums(bytes) : bytes;
  const told = `part seed ${seed}, ${kind}`;
  const here = part(original, parts);
  const isEntry = betweenParts && parts.every(({ start, end }) => end - start === ENTRY_BYTES);
  switch (kind) {
    case 'two files': {
      const there = part(other, partsOf(other));
      const bytes = Buffer.concat([original.subarray(0, here.start), other.subarray(there.start)]);
      return { kind, bytes: mended(bytes), betweenParts, told };
    }
    case 'part twice': {
      if (isEntry) {
        const bytes = Buffer.from(original);
        original.copy(bytes, part(original, parts).start, here.start, here.end);
        return { kind, bytes, betweenParts, told };
      }
      const bytes = Buffer.concat([original.subarray(0, here.end), original.subarray(here.start)]);
      return { kind, bytes: mended(bytes), betweenParts, told };
    }
    case 'parts swapped': {
      const second = part(original, parts);
      const [a, b] = here.start < second.start ? [here, second] : [second, here];
      const until = Math.min(a.end, b.start);
      const bytes = Buffer.concat([
        original.subarray(0, a.start),
        original.subarray(b.start, b.end),
        original.subarray(until, b.start),
        original.subarray(a.start, until),
        original.subarray(b.end),
      ]);
      return { kind, bytes: mended(bytes), betweenParts, told };
    }
    case 'part gone': {
      if (isEntry) return { kind, bytes: Buffer.from(original).fill(0, here.start, here.end), betweenParts, told };
      const bytes = Buffer.concat([original.subarray(0, here.start), original.subarray(here.end)]);
      return { kind, bytes: mended(bytes), betweenParts, told };
    }
    case 'length': {
      const known = parts[below(parts.length)];
      const at = known?.lengthAt ?? below(original.length - 4);
      const [size, little] = [known?.lengthBytes ?? 4, known?.littleEndian ?? false];
      const bytes = Buffer.from(original);
      const written = little ? bytes.readUIntLE(at, size) : bytes.readUIntBE(at, size);
      const greatest = 2 ** (size * 8) - 1;
      const values = [written - 1, written + 1, 0, greatest, Math.floor(greatest / 2)];
      const value = Math.min(greatest, Math.max(0, values[below(values.length)] ?? 0));
      if (little) bytes.writeUIntLE(value, at, size);
      else bytes.writeUIntBE(value, at, size);
      return { kind, bytes: mended(bytes), betweenParts, told: `${told} ${written} -> ${value} at ${at}` };
    }
  }
}
