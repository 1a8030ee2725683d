import { createHash, timingSafeEqual } from 'node:crypto';
import { MemoryStore, ipKeyGenerator, type Options } from 'express-rate-limit';
import type { RequestHandler } from 'express';
import { StopledgerError } from '../errors.js';
import { type Caller, type KnownToken, OPERATOR, rememberCaller, scopeOf } from './callers.js';

const WINDOW_MS = 60_000;
/** Wrong tokens that one address may send in a window before it is only told to wait. */
const WRONG_TOKENS = 20;

const digest = (text: string): Buffer => createHash('sha256').update(text).digest();

interface Digested {
  digest: Buffer;
  caller: Caller;
}

/** Compares with every token, in a time that tells nothing about any of them. */
function callerBy(presented: string, tokens: readonly Digested[]): Caller | null {
  const presentedDigest = digest(presented);
  let found: Caller | null = null;
  for (const { digest: known, caller } of tokens) if (timingSafeEqual(presentedDigest, known)) found ??= caller;
  return found;
}

/** Throws `forbidden` for a token that may not do this. */
function checkScope(caller: Caller, method: string): void {
  const needed = scopeOf(method);
  if (needed === null || caller.scopes.has(needed)) return;
  const has = caller.scopes.size === 0 ? 'nothing here' : `"${[...caller.scopes].join(', ')}"`;
  throw new StopledgerError('forbidden', `${method} needs a token that may "${needed}"; this one may ${has}`);
}

/**
 * Bearer tokens (RFC 6750) for everything behind it; lets all pass, as the operator, when there are none. A right token is
 * let in whatever came before it: behind a proxy all clients have one address, and one that guesses must not lock out the
 * others.
 */
export function requireToken(known: readonly KnownToken[]): RequestHandler {
  if (known.length === 0) {
    return (request, _response, next) => {
      rememberCaller(request, OPERATOR);
      next();
    };
  }
  const tokens = known.map(({ token, caller }) => ({ digest: digest(token), caller }));
  const wrong = new MemoryStore();
  wrong.init({ windowMs: WINDOW_MS } as Options);

  return async (request, response, next) => {
    const [, presented] = /^Bearer +([\x21-\x7e]+) *$/i.exec(request.get('authorization') ?? '') ?? [];
    const caller = presented === undefined ? null : callerBy(presented, tokens);
    if (caller !== null) {
      checkScope(caller, request.method);
      rememberCaller(request, caller);
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
