import { stat } from 'node:fs/promises';
import { basename, extname, relative, resolve, sep } from 'node:path';
import { watch as watchFiles } from 'chokidar';
import { StopledgerError } from '../../errors.js';
import { IMAGE_EXTENSIONS } from '../find-frames.js';
import { Sweep } from './sweep.js';

export interface FolderWatchOptions {
  /** Absolute. */
  folder: string;
  recursive: boolean;
  /** Look at the folder again and again instead of waiting for the file system's events, which network folders send badly. */
  poll: boolean;
  /** Absolute folders that hold no frames though they lie inside. */
  except: readonly string[];
}

export interface FolderEvents {
  /** An image file is there, or was changed. */
  onSeen(path: string): void;
  /** One is there no more. */
  onGone(path: string): void;
  /** All that was there at the beginning has been told. */
  onReady(): void;
  /** The folder itself is gone, or cannot be watched: nothing more comes. */
  onLost(error: StopledgerError): void;
}

/** How often the folder itself is looked for. */
const STILL_THERE_MS = 1000;
/** Deletions are believed when none came for so long and the folder still stands: a folder goes file by file. */
const DELETED_MS = 1000;
/** How often the whole folder is looked through for what no event told, at least; a slow folder less often. */
const SWEEP_MS = 3000;
const SWEEP_TIME_SHARE = 0.05;
/** With `poll`: how often folders, and files that stand still, are looked at. */
const POLL_FOLDERS_MS = 400;
const POLL_FILES_MS = 2000;

/** Throws `bad-usage` for what is no folder. */
export async function folderIdentity(folder: string): Promise<string> {
  const info = await stat(folder).catch(() => null);
  if (info === null) throw new StopledgerError('bad-usage', `DIR "${folder}": there is no such folder`);
  if (!info.isDirectory()) throw new StopledgerError('bad-usage', `DIR "${folder}": a folder expected, this is a file`);
  return `${info.dev}:${info.ino}`;
}

/** Tells the image files of a folder, those there already and those to come, until it is closed. */
export async function watchFolder(
  options: FolderWatchOptions,
  events: FolderEvents,
): Promise<{ close(): Promise<void> }> {
  const { folder, recursive, poll, except } = options;
  const identity = await folderIdentity(folder);
  const inside = (path: string, outer: string): boolean => path === outer || path.startsWith(outer + sep);

  const skips = (path: string, isFile: boolean): boolean => {
    if (path === folder) return false;
    if (
      relative(folder, path)
        .split(sep)
        .some((part) => part.startsWith('.'))
    )
      return true;
    return except.some((outer) => inside(path, outer)) || (isFile && !isImage(path));
  };

  const watcher = watchFiles(folder, {
    ignoreInitial: false,
    followSymlinks: false,
    ignorePermissionErrors: true,
    // Both would hold events back; whether a file is whole is told by `Settling`.
    awaitWriteFinish: false,
    atomic: false,
    usePolling: poll,
    interval: POLL_FOLDERS_MS,
    binaryInterval: POLL_FILES_MS,
    ...(recursive ? {} : { depth: 0 }),
    ignored: (path, info) => skips(resolve(path), info?.isFile() === true),
  });

  let lost = false;
  const lose = (error: StopledgerError): void => {
    if (lost) return;
    lost = true;
    events.onLost(error);
  };
  const lookForFolder = async (): Promise<void> => {
    const now = await folderIdentity(folder).catch(() => null);
    if (now !== identity) lose(new StopledgerError('frame-file-missing', `the folder ${folder} is gone`));
  };
  const looking = setInterval(() => void lookForFolder(), STILL_THERE_MS);

  const seen = (path: string): void => {
    deleted.delete(path);
    if (isImage(path)) events.onSeen(path);
  };
  const deleted = new Set<string>();
  let believing: NodeJS.Timeout | undefined;
  const believe = async (): Promise<void> => {
    // A card pulled or a share lost deletes no frame.
    await lookForFolder();
    if (lost) return;
    for (const path of deleted) events.onGone(path);
    deleted.clear();
  };
  const gone = (path: string): void => {
    if (!isImage(path)) return;
    deleted.add(path);
    clearTimeout(believing);
    believing = setTimeout(() => void believe(), DELETED_MS);
  };
  const sweep = new Sweep({ folder, recursive, skips: (path, isFolder) => skips(path, !isFolder) });
  let sweeping: NodeJS.Timeout | undefined;
  const sweepNow = async (): Promise<void> => {
    const startedMs = performance.now();
    const found = await sweep.look();
    if (lost) return;
    found.changed.forEach(seen);
    found.gone.forEach(gone);
    const tookMs = performance.now() - startedMs;
    sweeping = setTimeout(() => void sweepNow(), Math.max(SWEEP_MS, tookMs / SWEEP_TIME_SHARE));
  };
  watcher
    .on('add', seen)
    .on('change', seen)
    .on('unlink', gone)
    .on('ready', () => {
      events.onReady();
      void sweepNow();
    })
    .on('error', (error) => {
      const { message, code } = error as NodeJS.ErrnoException;
      const hint = code === 'ENOSPC' || code === 'EMFILE' ? '; --poll needs no such events' : '';
      lose(new StopledgerError('bad-usage', `the folder ${folder} cannot be watched: ${message}${hint}`));
    });
  return {
    async close() {
      clearInterval(looking);
      clearTimeout(believing);
      clearTimeout(sweeping);
      lost = true;
      await watcher.close();
    },
  };
}

const isImage = (path: string): boolean =>
  IMAGE_EXTENSIONS.has(extname(path).toLowerCase()) && !basename(path).startsWith('.');
