import { readFile } from 'node:fs/promises';
import type { FrameSamples } from '../src/contracts/calibration.js';
import type { FrameFailure, MeasuredFrame } from '../src/contracts/jobs.js';
import type { MeasuringOptions } from '../src/contracts/options.js';
import { StopledgerError, asStopledgerError } from '../src/errors.js';
import { loadPeopleModels, measureFrame } from './measure-frame.js';
import { endWithParent } from './orphan-watch.js';
import { sampleFrame } from './sample-frame.js';

/** What the pool asks of one of its processes; `path` is the frame's file on this machine. */
export type PoolRequest =
  { task: 'measure'; path: string; options: MeasuringOptions } | { task: 'sample'; path: string; maxPixels: number };

/** Asks a process to load what the first frame would wait for. */
export interface WarmRequest {
  task: 'warm';
}

/** Errors cross the process boundary as code and message; their classes would not survive it. */
export type PoolAnswer =
  | { ok: true; task: 'measure'; result: MeasuredFrame }
  | { ok: true; task: 'sample'; result: FrameSamples }
  | { ok: false; failure: FrameFailure };

endWithParent();

// Ctrl-C on a terminal goes to the whole group; whether a frame that runs is finished is the parent's to say.
process.on('SIGINT', () => undefined);

// The process's standard output is its parent's, which may be printing a report there.
process.stdout.write = process.stderr.write.bind(process.stderr);

async function readFrame(path: string): Promise<Buffer> {
  try {
    return await readFile(path);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('frame-file-missing', `the file could not be read: ${reason}`, { cause: error });
  }
}

/** Entry of a measuring process: one frame a call, one call at a time. */
export default async function answer(request: PoolRequest): Promise<PoolAnswer>;
export default async function answer(request: WarmRequest): Promise<null>;
export default async function answer(request: PoolRequest | WarmRequest): Promise<PoolAnswer | null> {
  try {
    if (request.task === 'warm') {
      await loadPeopleModels();
      return null;
    }
    const bytes = await readFrame(request.path);
    if (request.task === 'sample') return { ok: true, task: 'sample', result: await sampleFrame(bytes, request) };
    return { ok: true, task: 'measure', result: await measureFrame(bytes, request.options) };
  } catch (thrown) {
    const { code, message } = asStopledgerError(thrown);
    return { ok: false, failure: { code, message } };
  }
}
