import { spawnSync } from 'node:child_process';

/** CPU milliseconds (user and system, all threads of this process) that `work` takes. */
export async function cpuMs(work: () => unknown): Promise<number> {
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

/**
 * CPU milliseconds (user and system) of a program, its children included, as bash counts them.
 *
 * @param words program and arguments; what it prints is thrown away
 * @returns null where the program is not installed
 * @throws Error with its words where it fails
 */
export function programCpuMs(...words: string[]): number | null {
  if (!isInstalled(words[0]!)) return null;
  // Its own words go to descriptor 3, the times alone to standard error.
  const script = 'TIMEFORMAT="%U %S"; { time "$@" >/dev/null 2>&3; } 3>&1';
  const { status, stdout, stderr } = spawnSync('bash', ['-c', script, 'bash', ...words], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`${words.join(' ')} ended with ${status}: ${stdout}`);
  const [user, system] = stderr.trim().split(/\s+/).map(Number);
  return 1000 * ((user ?? NaN) + (system ?? NaN));
}

export function isInstalled(program: string): boolean {
  return spawnSync('bash', ['-c', 'command -v "$1"', 'bash', program]).status === 0;
}

/** A line of the table: a name, a ratio (or what it lacks) and what it is made of. */
export function row(name: string, ratio: number | null, details = ''): void {
  const value = ratio === null ? '   –' : ratio.toFixed(2).padStart(5);
  console.log(`  ${name.padEnd(46)} ${value}   ${details}`);
}

/** The highest resident memory of this process so far, in MiB, as Linux counts it; null elsewhere. */
export function peakMemoryMiB(): number {
  return process.resourceUsage().maxRSS / 1024;
}
