import { createHash, timingSafeEqual } from 'node:crypto';
import { MemoryStore, ipKeyGenerator, type Options } from 'express-rate-limit';
import type { RequestHandler } from 'express';
import { StopledgerError } from '../errors.js';

const WINDOW_MS = 60_000;
/** Wrong tokens that one address may send in a window before it is only told to wait. */
const WRONG_TOKENS = 20;

const digest = (text: string): Buffer => createHash('sha256').update(text).digest();

/** Compares with every token, in a time that tells nothing about any of them. */
function isKnown(presented: string, tokens: readonly Buffer[]): boolean {
  const presentedDigest = digest(presented);
  let known = false;
  for (const token of tokens) known = timingSafeEqual(presentedDigest, token) || known;
  return known;
}

/**
 * Bearer tokens (RFC 6750) for everything behind it; lets all pass when there are none. A right token is let in whatever
 * came before it: behind a proxy all clients have one address, and one that guesses must not lock out the others.
 */
export function requireToken(apiTokens: readonly string[]): RequestHandler {
  const tokens = apiTokens.map(digest);
  if (tokens.length === 0) {
    return (_request, _response, next) => {
      next();
    };
  }
  const wrong = new MemoryStore();
  wrong.init({ windowMs: WINDOW_MS } as Options);

  return async (request, response, next) => {
    const [, presented] = /^Bearer +([\x21-\x7e]+) *$/i.exec(request.get('authorization') ?? '') ?? [];
    if (presented !== undefined && isKnown(presented, tokens)) {
      next();
      return;
    }
    if (presented !== undefined) {
      const { totalHits } = await wrong.increment(ipKeyGenerator(request.ip ?? 'unknown'));
      if (totalHits > WRONG_TOKENS) {
        response.set('Retry-After', String(WINDOW_MS / 1000));
        throw new StopledgerError('too-many-requests', 'too many wrong tokens came from this address; wait a minute');
      }
    }
    response.set('WWW-Authenticate', 'Bearer realm="stopledger"');
    throw new StopledgerError(
      'unauthorized',
      presented === undefined ? 'no bearer token was sent' : 'the bearer token is not one of this service',
    );
  };
}
