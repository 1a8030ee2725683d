import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { medianOf } from '../accuracy/row.js';
import { programCpuMs, row } from './cpu.js';

const RUNS = 5;
const built = (path: string) => new URL(`../../dist/worker/${path}`, import.meta.url);

/** CPU of a measuring process from its start to its first measured frame, against loading the models alone. */
export function startBench(): void {
  const [entry, finder] = [built('pool-process.js'), built('people/finder.js')];
  if (!existsSync(entry) || !existsSync(finder)) {
    console.log('\nStart of a measuring process: left out (npm run build first)');
    return;
  }
  const path = fileURLToPath(new URL('../../samples/shoot/MKR_0001.jpg', import.meta.url));
  const request = { task: 'measure', path, options: MeasuringOptions.parse({}) };
  const scripts = {
    nothing: 'process.exit(0);',
    models: `const { createPeopleFinder } = await import(${JSON.stringify(finder.href)}); await createPeopleFinder(); process.exit(0);`,
    frame: `const { default: answer } = await import(${JSON.stringify(entry.href)});
      const { ok } = await answer(${JSON.stringify(request)}); process.exit(ok ? 0 : 1);`,
  };
  const cpu = { nothing: [] as number[], models: [] as number[], frame: [] as number[] };
  for (let run = 0; run < RUNS; run++)
    for (const name of ['nothing', 'models', 'frame'] as const)
      cpu[name].push(programCpuMs(process.execPath, '--input-type=module', '-e', scripts[name])!);
  const empty = medianOf(cpu.nothing);
  const models = medianOf(cpu.models) - empty;
  const frame = medianOf(cpu.frame);
  console.log(`\nStart of a measuring process (built), median of ${RUNS}`);
  row(
    'loading the models (an empty Node taken off)',
    1,
    `(${models.toFixed(0)} ms CPU; Node itself ${empty.toFixed(0)})`,
  );
  row('start to the first measured frame', frame / models, `(${frame.toFixed(0)} ms CPU); goal 3.00`);
}
