import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { type FileState, fileStateOf, sameContent } from './file-state.js';

export interface SweepOptions {
  folder: string;
  recursive: boolean;
  /** Whether this entry is left out. */
  skips: (path: string, isFolder: boolean) => boolean;
}

/** All image files below a folder with their state; folders that cannot be read are left out. */
async function statesBelow({ folder, recursive, skips }: SweepOptions): Promise<Map<string, FileState>> {
  const states = new Map<string, FileState>();
  const walk = async (inside: string): Promise<void> => {
    for (const entry of await readdir(inside, { withFileTypes: true }).catch(() => [])) {
      const path = join(inside, entry.name);
      if (skips(path, entry.isDirectory())) continue;
      if (entry.isDirectory()) {
        if (recursive) await walk(path);
        continue;
      }
      const state = await fileStateOf(path);
      if (state !== null) states.set(path, state);
    }
  };
  await walk(folder);
  return states;
}

/**
 * Looks at the whole folder now and then and tells what differs from the look before. Events of file systems get lost,
 * and none are sent for files that come between the first listing of a folder and the watch on it; what they did not
 * tell is told by this.
 */
export class Sweep {
  readonly #options: SweepOptions;
  #before = new Map<string, FileState>();

  constructor(options: SweepOptions) {
    this.#options = options;
  }

  /** The first look tells every file. */
  async look(): Promise<{ changed: string[]; gone: string[] }> {
    const now = await statesBelow(this.#options);
    const before = this.#before;
    this.#before = now;
    const changed = [...now].flatMap(([path, state]) => {
      const old = before.get(path);
      return old !== undefined && sameContent(old, state) ? [] : [path];
    });
    return { changed, gone: [...before.keys()].filter((path) => !now.has(path)) };
  }
}
