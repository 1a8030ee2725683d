import type { Request } from 'express';
import type { Scope, StudioToken } from '../settings.js';
import { SCOPES } from '../settings.js';

/** Who asks, by the token that came with the request. */
export interface Caller {
  /** The studio whose shoots are shown; null: those of all. */
  studio: string | null;
  scopes: ReadonlySet<Scope>;
}

/** Whoever runs the service, and everyone where no tokens are set. */
export const OPERATOR: Caller = { studio: null, scopes: new Set(SCOPES) };

export interface KnownToken {
  token: string;
  caller: Caller;
}

/** All tokens of a configuration, with what each may do. */
export function knownTokens(apiTokens: readonly string[], studioTokens: readonly StudioToken[]): KnownToken[] {
  return [
    ...apiTokens.map((token) => ({ token, caller: OPERATOR })),
    ...studioTokens.map(({ token, studio, scopes }) => ({ token, caller: { studio, scopes: new Set(scopes) } })),
  ];
}

const callers = new WeakMap<Request, Caller>();

export function rememberCaller(request: Request, caller: Caller): void {
  callers.set(request, caller);
}

/** Throws when the request did not come through the check of tokens: no address may be forgotten there. */
export function callerOf(request: Request): Caller {
  const caller = callers.get(request);
  if (caller === undefined) throw new Error(`${request.path} was reached without a check of its token`);
  return caller;
}

/** What a request does to shoots, by its method; null for one that does nothing. */
export function scopeOf(method: string): Scope | null {
  switch (method) {
    case 'GET':
    case 'HEAD':
      return 'read';
    case 'POST':
    case 'PUT':
      return 'send';
    case 'DELETE':
      return 'delete';
    default:
      return null;
  }
}
