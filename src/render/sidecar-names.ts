import { extname } from 'node:path';

/** Names that end so are camera raws; a sidecar without an extension of its frame's is by custom the raw's. */
const RAW_EXTENSIONS = new Set(
  '3fr arw cr2 cr3 crw dcr dng erf fff iiq kdc mef mos mrw nef nrw orf pef raf raw rw2 rwl sr2 srf srw x3f'
    .split(' ')
    .map((ending) => `.${ending}`),
);

const folded = (name: string): string => name.normalize('NFC').toLowerCase();
const stemOf = (name: string): string => name.slice(0, name.length - extname(name).length);
const isRaw = (name: string): boolean => RAW_EXTENSIONS.has(extname(name).toLowerCase());

/**
 * Image file names of one folder -> the name of each one's sidecar. `P1.xmp` (XMP Specification Part 3: the name of
 * the file with its extension changed) belongs to the one file of its stem, or to the only raw among several;
 * every other file gets its whole name, `P1.JPG.xmp`. So a raw and the JPEG beside it never share one, and the raw's
 * stays where other programs look for it. Names that differ in case only count as one, since some folders say so.
 *
 * @param names of all image files there, also of those that are not in the shoot: which name is free depends on them
 */
export function sidecarNames(names: readonly string[]): Map<string, string> {
  const byStem = new Map<string, string[]>();
  for (const name of new Set(names)) {
    const key = folded(stemOf(name));
    byStem.set(key, [...(byStem.get(key) ?? []), name]);
  }
  const whole = new Set(names.map(folded));
  const out = new Map<string, string>();
  for (const [stem, its] of byStem) {
    const raws = its.filter(isRaw);
    const owner = its.length === 1 ? its[0] : raws.length === 1 ? raws[0] : undefined;
    // `P1.JPG.TIF` may not take `P1.JPG.xmp`, which is the whole name of `P1.JPG`.
    const free = !whole.has(stem);
    for (const name of its) out.set(name, `${name === owner && free ? stemOf(name) : name}.xmp`);
  }
  return out;
}
