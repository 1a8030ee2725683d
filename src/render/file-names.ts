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
 * `P1.JPG` and `P1.TIF` differ. Names that would still meet, also on a file system that ignores case, are numbered.
 */
export function safeFileNames(names: readonly string[]): Map<string, string> {
  const taken = new Set<string>();
  const out = new Map<string, string>();
  for (const name of names) {
    if (out.has(name)) continue;
    const base = safe(name);
    let candidate = base;
    for (let n = 2; taken.has(candidate.toLowerCase()); n += 1) candidate = `${base}~${n}`;
    taken.add(candidate.toLowerCase());
    out.set(name, candidate);
  }
  return out;
}
