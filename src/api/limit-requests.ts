import { ipKeyGenerator, rateLimit } from 'express-rate-limit';
import type { RequestHandler } from 'express';
import { StopledgerError } from '../errors.js';
import { callerOf } from './callers.js';

const WINDOW_MS = 60_000;

/**
 * So that one studio's script that has gone wild does not take the service from the others: counted by studio, or by
 * address where the caller is of none, in this process. Stands behind the check of tokens.
 */
export function limitRequests(perMinute: number): RequestHandler {
  if (perMinute === 0) {
    return (_request, _response, next) => {
      next();
    };
  }
  return rateLimit({
    windowMs: WINDOW_MS,
    limit: perMinute,
    standardHeaders: 'draft-8',
    legacyHeaders: false,
    keyGenerator: (request) => {
      const { studio } = callerOf(request);
      return studio === null ? `address ${ipKeyGenerator(request.ip ?? 'unknown')}` : `studio ${studio}`;
    },
    handler: (_request, _response, next) => {
      next(new StopledgerError('too-many-requests', `more than ${perMinute} requests came within a minute`));
    },
  });
}
