import { cpus } from 'node:os';
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { judgeBench } from './judge-bench.js';
import { poolBench } from './pool-bench.js';
import { scaleBench } from './scale-bench.js';

/**
 * `npm run bench`: ratios within one run; absolute times are this machine's and this moment's. Prints the machine,
 * the versions and what was compared.
 */
const only = process.argv.slice(2);
const wanted = (name: string) => only.length === 0 || only.includes(name);

console.log(
  `Node ${process.version}, ${process.platform} ${process.arch}, ${cpus().length} x ${cpus()[0]?.model.trim() ?? 'unknown processor'}\n`,
);
if (wanted('frame')) {
  // In a process of its own, with the allocator setting that measuring processes carry.
  const script = fileURLToPath(new URL('./frame-bench.ts', import.meta.url));
  const { status } = spawnSync(process.execPath, ['--import', 'tsx', script], {
    stdio: 'inherit',
    env: { ...process.env, GLIBC_TUNABLES: 'glibc.malloc.hugetlb=1', VIPS_CONCURRENCY: '1' },
  });
  if (status !== 0) process.exitCode = 1;
}
if (wanted('pool')) await poolBench();
if (wanted('judge')) judgeBench();
if (wanted('scale')) await scaleBench();
