import http from 'node:http';
import https from 'node:https';
import type { LookupFunction } from 'node:net';
import { reasonOf } from '../errors.js';
import { checkLiteralHost, guardedLookup } from './addresses.js';

/** Of an answer only its status counts; more than this of it is not read. */
const MOST_READ_BYTES = 16 * 1024;

export interface PostLimits {
  /** For all of it: finding the address, connecting, sending and the answer. */
  timeLimitMs: number;
  privateRanges: readonly string[];
  /** How names are looked up (tests). */
  lookup?: LookupFunction;
  signal: AbortSignal;
}

export type PostResult = { answered: number } | { unanswered: string };

/**
 * Posts JSON once, over a connection of its own, and says the status of the answer. Follows no redirect, asks no proxy,
 * connects to no address that it may not reach, whatever the name resolves to. Never throws.
 */
export async function postOnce(
  url: URL,
  message: { headers: Record<string, string>; body: string },
  { timeLimitMs, privateRanges, lookup, signal }: PostLimits,
): Promise<PostResult> {
  const limit = AbortSignal.timeout(timeLimitMs);
  try {
    // Names go through the lookup; an address is connected to without one.
    checkLiteralHost(url, privateRanges);
    return { answered: await statusOf(url, message, guardedLookup(privateRanges, lookup), AbortSignal.any([limit, signal])) }; // prettier-ignore
  } catch (error) {
    if (limit.aborted) return { unanswered: `no answer within ${timeLimitMs} ms` };
    return { unanswered: reasonOf(error) };
  }
}

function statusOf(
  url: URL,
  { headers, body }: { headers: Record<string, string>; body: string },
  lookup: LookupFunction,
  signal: AbortSignal,
): Promise<number> {
  return new Promise((resolve, reject) => {
    const { request: start } = url.protocol === 'https:' ? https : http;
    const bytes = Buffer.from(body);
    const request = start(url, {
      method: 'POST',
      agent: false,
      lookup,
      signal,
      headers: {
        'content-type': 'application/json',
        'content-length': String(bytes.byteLength),
        'user-agent': 'stopledger',
        ...headers,
      },
    });
    request.on('error', reject);
    // Ended without an answer that could be read.
    request.on('close', () => {
      reject(new Error('the connection was closed without an answer'));
    });
    request.on('response', (response) => {
      const status = response.statusCode ?? 0;
      let readBytes = 0;
      const done = (): void => {
        resolve(status);
        request.destroy();
      };
      response.on('data', (chunk: Buffer) => {
        readBytes += chunk.byteLength;
        if (readBytes > MOST_READ_BYTES) done();
      });
      // However the rest of it ends: the status has come.
      response.on('end', done);
      response.on('error', done);
    });
    request.end(bytes);
  });
}
