import type { ErrorRequestHandler, Response } from 'express';
import type { Logger } from 'pino';
import type { Problem } from '../contracts/api.js';
import { ERROR_TABLE, StopledgerError } from '../errors.js';

/** Where a problem's type is explained; relative, so that it needs no host of its own. */
const typeOf = (code: string): string => `/problems/${code}`;

/** Problem details (RFC 9457) of an error of ours. */
export function problemOf(error: StopledgerError, instance?: string): Problem {
  return {
    type: typeOf(error.code),
    title: ERROR_TABLE[error.code].title,
    status: error.status,
    code: error.code,
    detail: error.message,
    ...(instance === undefined ? {} : { instance }),
    retryable: error.retryable,
  };
}

/** Errors of express and its body parser carry a status and a type; everything else unknown is `internal`. */
export function fromThrown(thrown: unknown): StopledgerError {
  if (thrown instanceof StopledgerError) return thrown;
  if (thrown instanceof URIError) {
    return new StopledgerError('bad-request', 'the address holds a percent sign that is not an encoding');
  }
  if (thrown instanceof Error && 'type' in thrown) {
    if (thrown.type === 'entity.too.large') return new StopledgerError('body-too-large', thrown.message);
    if (thrown.type === 'entity.parse.failed') {
      return new StopledgerError('bad-request', `the body is not valid JSON: ${thrown.message}`);
    }
    if (thrown.type === 'charset.unsupported' || thrown.type === 'encoding.unsupported') {
      return new StopledgerError('unsupported-media-type', thrown.message);
    }
    if (thrown.type === 'request.aborted') return new StopledgerError('upload-aborted', thrown.message);
  }
  if (thrown instanceof Error && 'status' in thrown && thrown.status === 400) {
    return new StopledgerError('bad-request', thrown.message);
  }
  return new StopledgerError('internal', 'the service failed in a way it does not know; its log says more', {
    cause: thrown,
  });
}

const RETRY_AFTER_SECONDS: Partial<Record<StopledgerError['code'], number>> = {
  'report-not-ready': 1,
  'shutting-down': 5,
  'storage-unavailable': 5,
  'storage-full': 30,
};

export function sendProblem(response: Response, error: StopledgerError, extra: Record<string, unknown> = {}): void {
  const retryAfter = RETRY_AFTER_SECONDS[error.code];
  if (retryAfter !== undefined) response.set('Retry-After', String(retryAfter));
  response
    .status(error.status)
    .set('Cache-Control', 'no-store')
    .type('application/problem+json')
    .send(JSON.stringify({ ...problemOf(error, response.req.originalUrl), ...extra }));
}

/** The one handler that turns anything thrown into problem details. */
export function problemHandler(log: Logger): ErrorRequestHandler {
  return (thrown: unknown, request, response, next) => {
    const error = fromThrown(thrown);
    if (error.code === 'internal') {
      log.error({ method: request.method, path: request.path, err: error.cause ?? error }, 'request failed');
    }
    if (response.headersSent) {
      next(thrown);
      return;
    }
    // A body that nobody is going to read any more: the connection cannot carry another request after it.
    if (!request.complete) {
      response.set('Connection', 'close');
      request.resume();
    }
    sendProblem(response, error);
  };
}
