import { StopledgerError, asStopledgerError } from '../../errors.js';

/** What servers of the S3 protocol say when they have no room left. */
const NO_ROOM = new Set(['QuotaExceeded', 'XMinioStorageFull', 'InsufficientCapacity', 'EntityTooLarge']);
const MISSING = new Set(['NoSuchKey', 'NotFound', 'NoSuchUpload']);

const UNFIT = new Set(['NoSuchBucket', 'InvalidBucketName', 'InvalidAccessKeyId', 'SignatureDoesNotMatch', 'AuthorizationHeaderMalformed']); // prettier-ignore

interface ServiceFault {
  name: string;
  message: string;
  $metadata?: { httpStatusCode?: number };
}

const isFault = (error: unknown): error is ServiceFault => error instanceof Error;
const statusOf = (error: unknown): number => (isFault(error) ? (error.$metadata?.httpStatusCode ?? 0) : 0);

export const isMissing = (error: unknown): boolean => isFault(error) && MISSING.has(error.name);
export const isNotImplemented = (error: unknown): boolean => isFault(error) && (error.name === 'NotImplemented' || statusOf(error) === 405); // prettier-ignore

/** A fault in the program. What the network throws is named otherwise, or has a code. */
const isOwnFault = (error: unknown): boolean =>
  (error instanceof TypeError || error instanceof RangeError || error instanceof ReferenceError) && !('code' in error);

/** A wrong name, key or secret: waiting mends none of them. */
export const isUnfit = (error: unknown): boolean => isFault(error) && UNFIT.has(error.name);
/** The server does not take this kind of request, in this form; a plainer one may do. */
export const isNotTaken = (error: unknown): boolean => [400, 405, 411, 501].includes(statusOf(error));

/**
 * What a bucket's client threw, in our own words: `storage-full`, `storage-unavailable` when no answer came or the
 * server was at fault, else `internal` with its own reason (a wrong key, no such bucket, a fault in the program).
 */
export function bucketError(error: unknown): StopledgerError {
  if (error instanceof StopledgerError) return error;
  const status = statusOf(error);
  if ((isFault(error) && NO_ROOM.has(error.name)) || status === 507) {
    return new StopledgerError('storage-full', 'the bucket that holds the frames is full', { cause: error });
  }
  if ((status === 0 && !isOwnFault(error)) || status === 429 || status >= 500) {
    return new StopledgerError('storage-unavailable', 'the bucket that holds the frames does not answer', {
      cause: error,
    });
  }
  return asStopledgerError(error);
}
