import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A disk in memory, which can be full and grow. */
export interface SmallDisk {
  folder: string;
  grow(size: string): void;
  remove(): Promise<void>;
}

const run = (program: string, ...args: string[]): boolean => spawnSync(program, args).status === 0;

/** Of a size as `mount` takes it, for example `8m`. */
export function openSmallDisk(size: string): SmallDisk {
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-disk-'));
  if (!run('mount', '-t', 'tmpfs', '-o', `size=${size}`, 'none', folder))
    throw new Error('a disk could not be mounted');
  return {
    folder,
    grow(larger) {
      if (!run('mount', '-o', `remount,size=${larger}`, folder)) throw new Error(`${folder} could not be made larger`);
    },
    async remove() {
      if (!run('umount', folder)) run('umount', '--lazy', folder);
      await rm(folder, { recursive: true, force: true });
    },
  };
}

async function canMount(): Promise<boolean> {
  try {
    await openSmallDisk('1m').remove();
    return true;
  } catch {
    return false;
  }
}

/** Root in most containers may, other users may not. */
export const CAN_MOUNT = await canMount();
