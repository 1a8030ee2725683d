import { cpus } from 'node:os';
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { judgeBench } from './judge-bench.js';
import { pageBench } from './page-bench.js';
import { poolBench } from './pool-bench.js';
import { scaleBench } from './scale-bench.js';
import { startBench } from './start-bench.js';
import { uploadBench } from './upload-bench.js';
import { watchBench } from './watch-bench.js';

/**
 * `npm run bench [-- PART...]`: ratios within one run; absolute times are this machine's and this moment's. Prints the
 * machine, the versions and what was compared. `-- --short`: what CI prints, as information only, in under a minute.
 */
const words = process.argv.slice(2);
const short = words.includes('--short');
const only = words.filter((word) => word !== '--short');
const PARTS = [
  'frame',
  'raw',
  'group',
  'pool',
  'start',
  'memory',
  'script',
  'upload',
  'judge',
  'page',
  'watch',
  'scale',
];
const unknown = only.filter((word) => !PARTS.includes(word));
if (unknown.length > 0) throw new Error(`expected parts out of ${PARTS.join(', ')}; received ${unknown.join(', ')}`);
const wanted = (name: string) =>
  only.length === 0 ? !short || ['frame', 'judge'].includes(name) : only.includes(name);

/** What measuring processes are started with: see src/queue/measuring-pool.ts. */
const MEASURING = { GLIBC_TUNABLES: 'glibc.malloc.hugetlb=1:glibc.malloc.arena_max=1', VIPS_CONCURRENCY: '1' };

/** Runs a script of this folder in a process of its own, as measuring processes are started unless told otherwise. */
function inOwnProcess(script: string, args: string[] = [], environment: Record<string, string> = MEASURING): void {
  const path = fileURLToPath(new URL(script, import.meta.url));
  const { status } = spawnSync(process.execPath, ['--import', 'tsx', path, ...args], {
    stdio: 'inherit',
    env: { ...process.env, ...environment },
  });
  if (status !== 0) process.exitCode = 1;
}

const versionOf = (name: string): string => {
  const path = new URL(`../../node_modules/${name}/package.json`, import.meta.url);
  return `${name} ${(JSON.parse(readFileSync(path, 'utf8')) as { version: string }).version}`;
};
console.log(
  `Node ${process.version}, ${process.platform} ${process.arch}, ${cpus().length} x ${cpus()[0]?.model.trim() ?? 'unknown processor'}; ${['sharp', 'libraw-wasm', '@litertjs/core'].map(versionOf).join(', ')}`,
);
if (wanted('frame')) {
  inOwnProcess('./frame-bench.ts', short ? ['5'] : []);
  if (!short) {
    inOwnProcess('./bare-bench.ts');
    inOwnProcess('./bare-bench.ts', [], { VIPS_CONCURRENCY: '1', GLIBC_TUNABLES: 'glibc.malloc.hugetlb=0' });
  }
}
if (wanted('raw')) inOwnProcess('./raw-bench.ts');
if (wanted('group')) inOwnProcess('./group-bench.ts');
if (wanted('pool')) await poolBench();
if (wanted('start')) startBench();
if (wanted('memory')) inOwnProcess('./memory-bench.ts', short ? ['100'] : []);
if (wanted('script')) inOwnProcess('./script-bench.ts');
if (wanted('upload')) await uploadBench(short ? 1 : 10);
if (wanted('judge')) judgeBench();
if (wanted('page')) await pageBench();
if (wanted('watch')) await watchBench();
if (wanted('scale')) await scaleBench();
