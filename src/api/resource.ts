import { createHash } from 'node:crypto';
import type { IncomingMessage } from 'node:http';
import type { Request, RequestHandler, Response, Router } from 'express';
import { StopledgerError } from '../errors.js';
import { VERSION } from '../version.js';

type Method = 'get' | 'post' | 'put' | 'delete';

/**
 * One address and all it answers to: the given methods, HEAD with GET, OPTIONS; anything else is 405 with `Allow`.
 */
export function resource(
  router: Router,
  path: string,
  methods: Partial<Record<Method, RequestHandler | RequestHandler[]>>,
): void {
  const route = router.route(path);
  const allowed: string[] = [];
  for (const [method, handlers] of Object.entries(methods) as [Method, RequestHandler | RequestHandler[]][]) {
    route[method](handlers);
    allowed.push(method.toUpperCase(), ...(method === 'get' ? ['HEAD'] : []));
  }
  const allow = [...allowed, 'OPTIONS'].join(', ');
  route.all((request: Request, response: Response) => {
    response.set('Allow', allow);
    if (request.method === 'OPTIONS') {
      response.status(204).end();
      return;
    }
    throw new StopledgerError('method-not-allowed', `${request.method} was sent; this address takes ${allow}`);
  });
}

/** The first of `offered` media types that the client accepts. Throws `not-acceptable`. */
export function negotiated<T extends string>(request: Request, response: Response, offered: readonly T[]): T {
  response.vary('Accept');
  const chosen = request.accepts([...offered]);
  if (chosen === false) {
    const wanted = request.get('accept') ?? '';
    throw new StopledgerError('not-acceptable', `${offered.join(', ')} are offered; ${wanted} was asked for`);
  }
  return chosen as T;
}

/**
 * Sets the entity tag, lets the client keep the answer if it asks each time and, when the client has just this (If-None-Match, RFC 9110 section 13.1.2, weak comparison),
 * answers 304; true then. A `Cache-Control` of the request is no matter of the origin and is not looked at.
 *
 * @param madeOf what the answer follows from, but for the program's version, which is added: another may draw otherwise
 */
export function answeredNotModified(request: Request, response: Response, madeOf: string): boolean {
  const etag = `"${createHash('sha256').update(`${VERSION} ${madeOf}`).digest('hex').slice(0, 32)}"`;
  response.set('ETag', etag);
  response.set('Cache-Control', 'private, no-cache');
  const held = (request.get('if-none-match') ?? '').split(',').map((one) => one.trim().replace(/^W\//, ''));
  if (!held.includes(etag) && !held.includes('*')) return false;
  response.status(304).end();
  return true;
}

/** Aborted when the client goes away before it was answered. */
export function goneSignal(response: Response): AbortSignal {
  const gone = new AbortController();
  // It may have gone before anybody listened.
  if (response.closed && !response.writableFinished) gone.abort();
  response.on('close', () => {
    if (!response.writableFinished) gone.abort();
  });
  return gone.signal;
}

/** For `Expect: 100-continue`: called when nothing speaks against the body any more. */
export function letBodyCome(request: IncomingMessage, response: { writeContinue(): void }): void {
  if (/^100-continue$/i.test(request.headers.expect ?? '')) response.writeContinue();
}
