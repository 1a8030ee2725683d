import { readFileSync, readdirSync } from 'node:fs';

/** What a service holds at one moment, its measuring processes included. */
export interface Usage {
  atSeconds: number;
  /** Resident memory of the service itself, and of all its measuring processes together. */
  serviceMiB: number;
  measuringMiB: number;
  descriptors: number;
  processes: number;
  /** Files in its data folder and in its folder for temporary files. */
  files: number;
}

const PAGE_BYTES = 4096;
const MIB = 1024 ** 2;

/** Processes under this one, from /proc; those that end meanwhile are left out. */
export function childrenOf(pid: number): number[] {
  const parents = new Map<number, number>();
  for (const name of readdirSync('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    try {
      // Behind the name in brackets, which may hold anything: state and parent (proc(5)).
      const [, parent] = readFileSync(`/proc/${name}/stat`, 'utf8')
        .replace(/^.*\) /s, '')
        .split(' ');
      parents.set(Number(name), Number(parent));
    } catch {
      continue;
    }
  }
  const found = [pid];
  for (const one of found) for (const [child, parent] of parents) if (parent === one) found.push(child);
  return found.slice(1);
}

function residentMiB(pid: number): number {
  try {
    const [, pages] = readFileSync(`/proc/${pid}/statm`, 'utf8').split(' ');
    return (Number(pages) * PAGE_BYTES) / MIB;
  } catch {
    return 0;
  }
}

const filesIn = (folder: string): number =>
  readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).length;

export function usageOf(pid: number, folders: readonly string[], atSeconds: number): Usage {
  const children = childrenOf(pid);
  return {
    atSeconds,
    serviceMiB: residentMiB(pid),
    measuringMiB: children.reduce((sum, child) => sum + residentMiB(child), 0),
    descriptors: readdirSync(`/proc/${pid}/fd`).length,
    processes: children.length,
    files: folders.reduce((sum, folder) => sum + filesIn(folder), 0),
  };
}
