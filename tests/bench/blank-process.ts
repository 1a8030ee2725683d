import type { PoolAnswer, PoolRequest } from '../../worker/pool-process.js';
import { endWithParent } from '../../worker/orphan-watch.js';
import { blankMeasurement } from '../fixtures/pool/blank-measurement.js';

endWithParent();

/** In place of a measuring process: answers without reading the frame, so that it takes no time from what is timed. */
export default function answer({ path }: PoolRequest): Promise<PoolAnswer> {
  return Promise.resolve({ ok: true, task: 'measure', result: blankMeasurement(Buffer.from(path)) });
}
