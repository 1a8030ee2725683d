import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { StopledgerError } from '../../src/errors.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { temporaryFolder } from '../support/temporary-folder.js';

/** A measuring process taken over by a picture: tells what it was able to do. */
const INTRUDER = `
  import { readFileSync, writeFileSync } from 'node:fs';
  import { execFileSync } from 'node:child_process';
  import { Worker } from 'node:worker_threads';
  const outcome = (what) => { try { what(); return 'done'; } catch (error) { return error.code ?? error.message; } };
  export default async ({ path }) => {
    const told = {
      read: outcome(() => readFileSync(path)),
      write: outcome(() => writeFileSync(path + '.written', 'x')),
      program: outcome(() => execFileSync('/bin/true')),
      writeFromThread: await new Promise((resolve) => {
        const thread = new Worker("require('node:fs').writeFileSync(require('node:worker_threads').workerData, 'x')", { eval: true, workerData: path + '.thread' });
        thread.on('error', (error) => resolve(error.code));
        thread.on('exit', () => resolve('done'));
      }),
    };
    return { ok: false, failure: { code: 'frame-corrupt', message: JSON.stringify(told) } };
  };
`;

describe('a measuring process of the built service', () => {
  it('reads files, and neither writes any nor starts programs, also from another thread', async () => {
    const folder = temporaryFolder();
    const entry = join(folder, 'intruder.mjs');
    const path = join(folder, 'frame.jpg');
    writeFileSync(entry, INTRUDER);
    writeFileSync(path, 'x');
    const pool = createMeasuringPool({ workers: 1, timeLimitSeconds: 60, maxAttempts: 1, entry: pathToFileURL(entry) });
    try {
      const refused: unknown = await pool.measure({ path, options: MeasuringOptions.parse({}) }).catch((error: unknown) => error); // prettier-ignore
      expect(refused).toBeInstanceOf(StopledgerError);
      expect(JSON.parse((refused as StopledgerError).message)).toEqual({
        read: 'done',
        write: 'ERR_ACCESS_DENIED',
        program: 'ERR_ACCESS_DENIED',
        writeFromThread: 'ERR_ACCESS_DENIED',
      });
      expect([existsSync(`${path}.written`), existsSync(`${path}.thread`)]).toEqual([false, false]);
    } finally {
      await pool.close();
    }
  });
});
