import exifr from 'exifr';
import { ExifTagSet } from './exif-tag-set.js';
import { EXIF_TAG, INTEROPERABILITY_INDEX } from './exif-tags.js';

const WANTED: number[] = Object.values(EXIF_TAG);
const WANTED_SET = new Set(WANTED);

/**
 * Numeric tags and raw values, only those wanted. `tiff` must stay out of these options: naming it switches
 * every directory on, the one with places included.
 */
const OPTIONS = {
  ifd0: { pick: WANTED },
  exif: { pick: WANTED },
  ifd1: false,
  gps: false,
  interop: { pick: [INTEROPERABILITY_INDEX] },
  makerNote: false,
  userComment: false,
  xmp: false,
  icc: false,
  iptc: false,
  jfif: false,
  ihdr: false,
  translateKeys: false,
  translateValues: false,
  reviveValues: false,
  sanitize: false,
  mergeOutput: false,
};

export interface ParsedExif {
  tags: ExifTagSet;
  interoperabilityIndex: string | null;
  problems: string[];
}

/**
 * Reads the wanted tags from the given parts of a file. The Exif directory wins over IFD0, an earlier part over
 * a later one. `interoperabilityIndex` is the text of its directory. `problems` holds what the parser could not follow beside what it gave.
 *
 * @throws whatever the parser throws on damaged data; callers turn that into a reason.
 */
export async function parseExif(blocks: readonly Buffer[]): Promise<ParsedExif> {
  const values = new Map<number, unknown>();
  const problems: string[] = [];
  let interoperabilityIndex: string | null = null;
  for (const block of blocks) {
    const parsed: unknown = await exifr.parse(block, OPTIONS);
    if (!isRecord(parsed)) continue;
    if (Array.isArray(parsed['errors'])) problems.push(...parsed['errors'].map(messageOf));
    const interop = parsed['interop'];
    const index: unknown = isRecord(interop) ? interop[INTEROPERABILITY_INDEX] : undefined;
    if (typeof index === 'string') interoperabilityIndex ??= index.replace(/\0.*$/s, '').trim();
    for (const directory of [parsed['exif'], parsed['ifd0']]) {
      if (!isRecord(directory)) continue;
      for (const [key, value] of Object.entries(directory)) {
        const tag = Number(key);
        // A blank text arrives as undefined: present, but no match for a value elsewhere.
        if (WANTED_SET.has(tag) && values.get(tag) === undefined) values.set(tag, value);
      }
    }
  }
  return { tags: new ExifTagSet(values), interoperabilityIndex, problems };
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null;
}

/** The message of anything thrown, in one line. */
export function messageOf(thrown: unknown): string {
  const text = thrown instanceof Error ? thrown.message : String(thrown);
  return text.replace(/\s+/g, ' ').trim().slice(0, 200);
}
