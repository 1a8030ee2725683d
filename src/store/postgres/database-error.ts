import { StopledgerError } from '../../errors.js';

/** SQLSTATE (PostgreSQL documentation, appendix A) whose cause is the server's state and not what was asked of it. */
const AWAY = /^(08|57P|53|25006|40001|40P01|55P03|57014)/;
const DISK_FULL = '53100';
const NOT_STORABLE = '22021';
const NETWORK = new Set(['ECONNREFUSED', 'ECONNRESET', 'EPIPE', 'ETIMEDOUT', 'ENOTFOUND', 'EAI_AGAIN', 'EHOSTUNREACH', 'ENETUNREACH']); // prettier-ignore
/** What the driver says without a code when a connection broke or could not be had in time. */
const BROKEN = /connection terminated|timeout exceeded when trying to connect|query read timeout|not queryable/i;

export const codeOf = (error: unknown): string => (error instanceof Error && 'code' in error ? String(error.code) : '');

/** True when the database could not be asked: nothing is said about what was to be written. */
export function isAway(error: unknown): boolean {
  if (error instanceof StopledgerError) return error.code === 'storage-unavailable';
  const code = codeOf(error);
  if (AWAY.test(code) && code !== DISK_FULL) return true;
  if (NETWORK.has(code)) return true;
  // Several addresses were tried and none answered.
  if (error instanceof AggregateError) return error.errors.some(isAway);
  return error instanceof Error && BROKEN.test(error.message);
}

/** What was thrown by the driver, in our own words where its cause is known; `storage-unavailable` may be tried again. */
export function databaseError(error: unknown): unknown {
  if (error instanceof StopledgerError) return error;
  if (isAway(error)) {
    return new StopledgerError('storage-unavailable', 'the database of shoot records does not answer', {
      cause: error,
    });
  }
  if (codeOf(error) === DISK_FULL) {
    return new StopledgerError('storage-full', 'the disk of the shoot records is full', { cause: error });
  }
  if (codeOf(error) === NOT_STORABLE) {
    return new StopledgerError('bad-request', 'a text holds a NUL character, which cannot be stored', { cause: error });
  }
  return error;
}
