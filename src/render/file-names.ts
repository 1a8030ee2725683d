import { createHash } from 'node:crypto';

/** Names that some systems keep for devices, with any extension. */
const DEVICE = /^(con|prn|aux|nul|com\d|lpt\d|conin\$|conout\$)(\.|$)/i;
const LONGEST_BYTES = 120;

function safe(name: string): string {
  let out = name
    .normalize('NFC')
    // eslint-disable-next-line no-control-regex
    .replace(/[\u0000-\u001f\u007f-\u009f<>:"/\\|?*%#\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, '_')
    .replace(/^[.\s]+/, '_')
    .replace(/[.\s]+$/, '_');
  if (out === '') out = '_';
  if (DEVICE.test(out)) out = `_${out}`;
  if (Buffer.byteLength(out) > LONGEST_BYTES) {
    const mark = createHash('sha256').update(name).digest('hex').slice(0, 8);
    let kept = '';
    for (const letter of out) {
      if (Buffer.byteLength(kept + letter) > LONGEST_BYTES - 10) break;
      kept += letter;
    }
    out = `${kept}~${mark}`;
  }
  return out;
}

/**
 * Frame name -> a file name (without a further extension) that any file system takes: no separators, device names,
 * leading or trailing dots, control characters; at most 120 bytes. The frame's own extension stays in it, so that
 * `P1.JPG` and `P1.TIF` differ. Names that would still meet, also on a file system that ignores case, are numbered in
 * order of coming.
 */
export class SafeFileNames {
  readonly #taken = new Set<string>();
  readonly #files = new Map<string, string>();

  constructor(names: readonly string[] = []) {
    for (const name of names) this.add(name);
  }

  /** The file name for this frame, the same whenever it is asked for. */
  add(name: string): string {
    const known = this.#files.get(name);
    if (known !== undefined) return known;
    const base = safe(name);
    let candidate = base;
    for (let n = 2; this.#taken.has(candidate.toLowerCase()); n += 1) candidate = `${base}~${n}`;
    this.#taken.add(candidate.toLowerCase());
    this.#files.set(name, candidate);
    return candidate;
  }

  get(name: string): string | undefined {
    return this.#files.get(name);
  }

  all(): Map<string, string> {
    return new Map(this.#files);
  }
}

/** File names for all of these frames; see `SafeFileNames`. */
export const safeFileNames = (names: readonly string[]): Map<string, string> => new SafeFileNames(names).all();
