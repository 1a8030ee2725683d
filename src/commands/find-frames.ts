import { createHash } from 'node:crypto';
import type { Dirent } from 'node:fs';
import { lstat, readdir, stat } from 'node:fs/promises';
import { basename, extname, join, relative, resolve, sep } from 'node:path';
import { StopledgerError } from '../errors.js';

export interface FoundFrame {
  /** Unique in the shoot; see `nameFrames`. */
  name: string;
  path: string;
}

export interface FoundFrames {
  frames: FoundFrame[];
  /** What a folder held and was not taken, by reason. */
  ignored: { hidden: number; notImages: number; folderLinks: number; reportFolders: number; deeperFolders: number };
}

/** What is taken from folders. A file named on the command line is taken whatever it is called. */
export const IMAGE_EXTENSIONS: ReadonlySet<string> = new Set(
  (
    'jpg jpeg jpe jfif png tif tiff webp avif gif heic heif hif ' +
    '3fr arw cr2 cr3 crw dcr dng erf fff iiq kdc mef mos mrw nef nrw orf pef raf raw rw2 rwl sr2 srf srw x3f'
  )
    .split(' ')
    .map((ending) => `.${ending}`),
);

const natural = new Intl.Collator('en', { numeric: true, sensitivity: 'variant' });

/** Orders as people count: IMG_9 before IMG_10. */
export const naturalOrder = (a: string, b: string): number => natural.compare(a, b) || (a < b ? -1 : a > b ? 1 : 0);

interface Candidate {
  path: string;
  root: string;
  /** Path below what the user named, `/` between parts. */
  below: string;
}

export interface FindOptions {
  /** Also what lies in folders inside the folders named; true unless told otherwise. */
  recursive?: boolean;
  /** Absolute path of a folder that holds no frames though it may lie inside. */
  except?: string;
}

/** What a report folder of ours holds besides pictures, which are no frames. */
const REPORT_FILES = ['report.json', 'frames.csv', 'measurements'];

async function entriesOf(folder: string): Promise<Dirent[]> {
  try {
    return await readdir(folder, { withFileTypes: true });
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-usage', `the folder "${folder}" cannot be read: ${reason}`, { cause: error });
  }
}

interface Walk extends FindOptions {
  root: string;
  ignored: FoundFrames['ignored'];
  out: Candidate[];
}

async function walk(folder: string, of: Walk): Promise<void> {
  const { root, ignored, out } = of;
  const entries = (await entriesOf(folder)).sort((a, b) => naturalOrder(a.name, b.name));
  if (folder !== root && REPORT_FILES.every((name) => entries.some((entry) => entry.name === name))) {
    ignored.reportFolders += 1;
    return;
  }
  for (const entry of entries) {
    const path = join(folder, entry.name);
    if (path === of.except) continue;
    if (entry.name.startsWith('.')) {
      ignored.hidden += 1;
    } else if (entry.isDirectory()) {
      if (of.recursive === false) ignored.deeperFolders += 1;
      else await walk(path, of);
    } else if (entry.isSymbolicLink() && (await stat(path).catch(() => null))?.isDirectory()) {
      ignored.folderLinks += 1;
    } else if (IMAGE_EXTENSIONS.has(extname(entry.name).toLowerCase())) {
      out.push({ path, root, below: relative(root, path).split(sep).join('/') });
    } else {
      ignored.notImages += 1;
    }
  }
}

const LONGEST_BYTES = 255;

/** What a service takes as a frame name: one NFC name without slashes, controls or outer white space, at most 255 bytes. */
function usable(name: string): string {
  const clean = name
    .normalize('NFC')
    // eslint-disable-next-line no-control-regex
    .replace(/[\\\u0000-\u001f\u007f-\u009f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufffd]/g, '_')
    .trim();
  if (Buffer.byteLength(clean) <= LONGEST_BYTES - 8) return clean;
  const mark = createHash('sha256').update(clean).digest('hex').slice(0, 12);
  let tail = '';
  for (const letter of Array.from(clean).reverse()) {
    if (Buffer.byteLength(letter + tail) > LONGEST_BYTES - 24) break;
    tail = letter + tail;
  }
  return `${mark}~${tail}`;
}

/** The frame name of a file, by its path below the folder that was named (`/` between parts). */
export const frameNameOf = (below: string): string => usable(below.replaceAll('/', '__'));

/** This name, or with `~2`, `~3` before its ending where it is taken. */
export function untakenName(wanted: string, taken: ReadonlySet<string>): string {
  const ending = extname(wanted);
  let name = wanted;
  for (let n = 2; taken.has(name); n += 1) name = `${wanted.slice(0, wanted.length - ending.length)}~${n}${ending}`;
  return name;
}

/**
 * Gives each file its frame name: its path below the folder that was named, with `__` between the parts, so that
 * `card-a/P1.JPG` is `card-a__P1.JPG` and a file straight in the folder keeps its own name. When two folders named on
 * the command line hold the same, the folder's name goes in front; what still meets is numbered `~2`, `~3`.
 */
export function nameFrames(candidates: readonly Candidate[]): FoundFrame[] {
  const plain = candidates.map(({ below }) => frameNameOf(below));
  const times = new Map<string, number>();
  for (const name of plain) times.set(name, (times.get(name) ?? 0) + 1);
  const taken = new Set<string>();
  return candidates.map(({ path, root }, i) => {
    const own = plain[i] ?? basename(path);
    const wanted = (times.get(own) ?? 0) > 1 ? usable(`${basename(root)}__${own}`) : own;
    const name = untakenName(wanted, taken);
    taken.add(name);
    return { name, path };
  });
}

/**
 * Finds frames in files and folders (natural order; hidden entries, other files, report folders of ours counted and left out).
 * The same file named twice is one frame. Throws `bad-usage` for a path that does not exist, `no-frames` when nothing is left.
 */
export async function findFrames(paths: readonly string[], options: FindOptions = {}): Promise<FoundFrames> {
  const ignored = { hidden: 0, notImages: 0, folderLinks: 0, reportFolders: 0, deeperFolders: 0 };
  const candidates: Candidate[] = [];
  for (const given of paths) {
    const path = resolve(given);
    const info = await stat(path).catch(() => null);
    if (info === null) {
      const dangling = await lstat(path).catch(() => null);
      throw new StopledgerError(
        'bad-usage',
        `PATH "${given}": ${dangling === null ? 'there is no such file or folder' : 'the link leads nowhere'}`,
      );
    }
    if (info.isDirectory()) await walk(path, { ...options, root: path, ignored, out: candidates });
    else candidates.push({ path, root: resolve(path, '..'), below: basename(path) });
  }
  const once = [...new Map(candidates.map((c) => [c.path, c])).values()];
  if (once.length === 0) {
    throw new StopledgerError(
      'no-frames',
      `no image files in ${paths.map((p) => `"${p}"`).join(', ')}; ${describeIgnored(ignored) || 'nothing was there'}`,
    );
  }
  return { frames: nameFrames(once), ignored };
}

/** "3 files that are no images, 1 hidden entry ignored", or an empty string. */
export function describeIgnored(ignored: FoundFrames['ignored']): string {
  const parts = [
    [ignored.notImages, 'file that is no image', 'files that are no images'],
    [ignored.hidden, 'hidden entry', 'hidden entries'],
    [ignored.folderLinks, 'link to a folder', 'links to folders'],
    [ignored.reportFolders, 'report folder', 'report folders'],
    [ignored.deeperFolders, 'folder inside', 'folders inside'],
  ] as const;
  const told = parts.flatMap(([n, one, many]) => (n === 0 ? [] : [`${n} ${n === 1 ? one : many}`]));
  return told.length === 0 ? '' : `${told.join(', ')} ignored`;
}
