import type { NextFunction, Request, Response } from 'express';
import { expect, it, vi } from 'vitest';
import { requireToken } from '../../src/api/auth.js';
import { knownTokens } from '../../src/api/callers.js';
import { checkFrameToken, signFrameToken } from '../../src/queue/frame-token.js';

/** Lengths of what was compared. */
const compared = vi.hoisted(() => [] as [number, number][]);
vi.mock('node:crypto', async (original) => {
  const real = await original<typeof import('node:crypto')>();
  return {
    ...real,
    timingSafeEqual: (a: Buffer, b: Buffer) => {
      compared.push([a.byteLength, b.byteLength]);
      return real.timingSafeEqual(a, b);
    },
  };
});

const TOKENS = ['first-token-of-the-house', 'second-and-longer-token-of-the-house', 'third-token-of-the-house'];

it('a token is compared with every one there is, digest by digest, whether it is right, nearly right or wrong', async () => {
  const check = requireToken(knownTokens(TOKENS, []));
  const ask = async (token: string): Promise<boolean> => {
    compared.length = 0;
    const headers: Record<string, string> = { authorization: `Bearer ${token}` };
    const request = { method: 'GET', ip: '127.0.0.1', get: (name: string) => headers[name] } as unknown as Request;
    const response = { set: () => response } as unknown as Response;
    try {
      let passed = false;
      await (check(request, response, (() => (passed = true)) as NextFunction) as Promise<void>);
      return passed;
    } catch {
      return false;
    }
  };
  for (const [token, right] of [
    [TOKENS[0], true],
    [TOKENS[2], true],
    [`${TOKENS[0]}x`, false],
    ['f', false],
    ['x'.repeat(5000), false],
  ] as const) {
    expect(await ask(token ?? ''), token).toBe(right);
    expect(compared).toEqual(TOKENS.map(() => [32, 32]));
  }
});

it('a token for a frame is compared whole, wherever it is wrong', () => {
  const frame = { shootId: 'a'.repeat(32), sha256: 'b'.repeat(64) };
  const right = signFrameToken('a-secret-that-is-long-enough-for-it', frame, 1000);
  const check = (token: string): void => {
    checkFrameToken('a-secret-that-is-long-enough-for-it', frame, token, 900);
  };
  compared.length = 0;
  check(right);
  const first = right.at(-43) === 'A' ? 'B' : 'A';
  expect(() => {
    check(`${right.slice(0, -43)}${first}${right.slice(-42)}`);
  }).toThrow(/not one for this frame/);
  expect(compared).toEqual([
    [32, 32],
    [32, 32],
  ]);
});
