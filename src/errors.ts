/**
 * The one table of everything that can go wrong: code, HTTP status, whether trying again can help,
 * and a title. Codes are part of the contract (problem details, report flags, exit messages).
 */
export const ERROR_TABLE = {
  'bad-request': { status: 400, retryable: false, title: 'The request is not valid' },
  'bad-plan': { status: 400, retryable: false, title: 'The shoot plan is not valid' },
  'bad-webhook': { status: 400, retryable: false, title: 'The webhook cannot be used' },
  'bad-frame-name': { status: 400, retryable: false, title: 'The frame name cannot be used' },
  unauthorized: { status: 401, retryable: false, title: 'A valid bearer token is needed' },
  forbidden: { status: 403, retryable: false, title: 'This token may not do that' },
  'not-found': { status: 404, retryable: false, title: 'There is nothing at this address' },
  'shoot-not-found': { status: 404, retryable: false, title: 'No such shoot' },
  'frame-not-found': { status: 404, retryable: false, title: 'No such frame in this shoot' },
  'method-not-allowed': { status: 405, retryable: false, title: 'This address does not take this method' },
  'not-acceptable': { status: 406, retryable: false, title: 'None of the accepted types is offered' },
  'no-such-advice': { status: 404, retryable: false, title: 'The report has no such advice for this frame' },
  'picture-missing': { status: 404, retryable: false, title: 'A picture of this frame is no longer kept' },
  'frame-name-taken': { status: 409, retryable: false, title: 'Another file has this name already' },
  'shoot-complete': { status: 409, retryable: false, title: 'The shoot takes no more frames' },
  'too-many-frames': { status: 409, retryable: false, title: 'The shoot holds as many frames as allowed' },
  'report-not-ready': { status: 409, retryable: true, title: 'Frames are still being measured' },
  'frame-too-large': { status: 413, retryable: false, title: 'The file is larger than allowed' },
  'body-too-large': { status: 413, retryable: false, title: 'The request body is larger than allowed' },
  'unsupported-media-type': { status: 415, retryable: false, title: 'This address does not take this kind of body' },
  'digest-mismatch': { status: 422, retryable: true, title: 'The bytes received do not match the digest' },
  'too-many-requests': { status: 429, retryable: true, title: 'Too many requests' },
  'upload-aborted': { status: 400, retryable: true, title: 'The upload ended early' },
  'storage-full': { status: 507, retryable: true, title: 'There is no room to store the file' },
  'storage-unavailable': { status: 503, retryable: true, title: 'The records or files cannot be reached' },
  'shutting-down': { status: 503, retryable: true, title: 'The service is shutting down' },
  internal: { status: 500, retryable: true, title: 'Something unexpected went wrong' },

  'frame-empty': { status: 422, retryable: false, title: 'The file is empty' },
  'frame-not-an-image': { status: 422, retryable: false, title: 'The file is not an image that can be read' },
  'frame-format-unsupported': { status: 422, retryable: false, title: 'This image format cannot be measured' },
  'frame-truncated': { status: 422, retryable: false, title: 'The image data ends early' },
  'frame-corrupt': { status: 422, retryable: false, title: 'The image data is damaged' },
  'frame-too-many-pixels': { status: 422, retryable: false, title: 'The image has more pixels than allowed' },
  'frame-timed-out': { status: 422, retryable: true, title: 'Measuring took longer than allowed' },
  'frame-process-died': { status: 422, retryable: true, title: 'The measuring process ended unexpectedly' },
  'frame-file-missing': { status: 422, retryable: true, title: 'The stored file could not be read' },

  'bad-configuration': { status: 500, retryable: false, title: 'The configuration is not valid' },
  'bad-usage': { status: 400, retryable: false, title: 'The command line is not valid' },
  'no-frames': { status: 422, retryable: false, title: 'No frames were found' },
  'sidecar-refused': { status: 409, retryable: false, title: 'The sidecar that is there cannot be added to' },
  'quantity-out-of-range': { status: 422, retryable: false, title: 'A quantity is outside its range' },
} as const satisfies Record<string, { status: number; retryable: boolean; title: string }>;

export type ErrorCode = keyof typeof ERROR_TABLE;

export const ERROR_CODES = Object.keys(ERROR_TABLE) as [ErrorCode, ...ErrorCode[]];

/** Every error this project throws on purpose. `message` names what was wrong, with what, and what was expected. */
export class StopledgerError extends Error {
  readonly code: ErrorCode;
  readonly retryable: boolean;
  readonly status: number;

  /** `retryable` only where it is not as the table says: what failed for good is told as that. */
  constructor(code: ErrorCode, message: string, options?: { cause?: unknown; retryable?: boolean }) {
    super(message, options);
    this.name = 'StopledgerError';
    this.code = code;
    this.retryable = options?.retryable ?? ERROR_TABLE[code].retryable;
    this.status = ERROR_TABLE[code].status;
  }
}

/** Wraps anything thrown; errors of ours pass unchanged, others become `fallback` with the original as cause. */
export function asStopledgerError(thrown: unknown, fallback: ErrorCode = 'internal'): StopledgerError {
  if (thrown instanceof StopledgerError) return thrown;
  const message = thrown instanceof Error ? thrown.message : String(thrown);
  return new StopledgerError(fallback, message, { cause: thrown });
}

/** What anything thrown says of itself; where several addresses were tried for one name, what the first came to. */
export function reasonOf(thrown: unknown): string {
  if (thrown instanceof AggregateError && thrown.errors.length > 0) return reasonOf(thrown.errors[0]);
  if (!(thrown instanceof Error)) return String(thrown);
  return thrown.message === '' && 'code' in thrown ? String(thrown.code) : thrown.message;
}
