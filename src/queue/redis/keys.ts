import { createHash } from 'node:crypto';
import type { MeasureJob } from '../../contracts/jobs.js';

export const QUEUE_NAME = 'frames';

const hash = (text: string): string => createHash('sha256').update(text).digest('hex').slice(0, 32);

/** JSON with its keys in order, so that equal options have equal hashes wherever they were made. */
function canonical(value: unknown): string {
  return JSON.stringify(value, (_key, part: unknown) =>
    part !== null && typeof part === 'object' && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  );
}

/**
 * The identity of a job: shoot, frame, content and measuring options. Equal jobs have equal ids, so adding one twice
 * changes nothing. Never a whole number and without ':', which BullMQ refuses.
 */
export const jobIdOf = ({ shootId, frameName, sha256, options }: MeasureJob): string =>
  ['f', hash(shootId), hash(frameName), hash(sha256), hash(canonical(options))].join('-');

/** Our own keys beside those of BullMQ, which begin with `<prefix>:frames:`. */
export interface OwnKeys {
  /** Shoot id -> the last round given to one of its frames. */
  rounds: string;
  /** Ids of the jobs of a shoot. */
  shoot(shootId: string): string;
  /** What was measured, until the service has stored it. */
  result(jobId: string): string;
  /** There when the shoot of a running job was dropped. */
  dropped(jobId: string): string;
  /** Held by the process that stores the outcome of a job. */
  claim(jobId: string): string;
}

export const ownKeys = (prefix: string): OwnKeys => ({
  rounds: `${prefix}:rounds`,
  shoot: (shootId) => `${prefix}:shoot:${shootId}`,
  result: (jobId) => `${prefix}:result:${jobId}`,
  dropped: (jobId) => `${prefix}:dropped:${jobId}`,
  claim: (jobId) => `${prefix}:claim:${jobId}`,
});
