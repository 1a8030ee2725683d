import { createHmac, timingSafeEqual } from 'node:crypto';
import { StopledgerError } from '../errors.js';

export interface FrameAddress {
  shootId: string;
  sha256: string;
}

/** How long a token is good for. It is made when it is used, so this only has to cover clocks that differ. */
export const TOKEN_SECONDS = 300;

const SHAPE = /^f1\.(\d{1,12})\.([A-Za-z0-9_-]{43})$/;

const signature = (secret: string, { shootId, sha256 }: FrameAddress, expiresAt: number): Buffer =>
  createHmac('sha256', secret)
    .update(JSON.stringify(['frame', shootId, sha256, expiresAt]))
    .digest();

/**
 * Leave to read the bytes of one frame until `expiresAtSeconds` (Unix time): `f1.<expiry>.<HMAC-SHA-256, base64url>`
 * (RFC 2104) under a secret that service and workers share.
 */
export function signFrameToken(secret: string, frame: FrameAddress, expiresAtSeconds: number): string {
  const expiresAt = Math.floor(expiresAtSeconds);
  return `f1.${expiresAt}.${signature(secret, frame, expiresAt).toString('base64url')}`;
}

/**
 * Throws `unauthorized` unless the token was made with the secret for this very frame and its time is not over, nor
 * further away than tokens are made for. The comparison takes the same time whatever is wrong.
 */
export function checkFrameToken(secret: string, frame: FrameAddress, token: string, nowSeconds: number): void {
  const [, expiry = '', signed = ''] = SHAPE.exec(token) ?? [];
  const expiresAt = Number(expiry);
  const expected = signature(secret, frame, expiresAt);
  const presented = Buffer.from(signed, 'base64url');
  if (presented.byteLength !== expected.byteLength || !timingSafeEqual(presented, expected)) {
    throw new StopledgerError('unauthorized', 'the token is not one for this frame');
  }
  const leftSeconds = expiresAt - nowSeconds;
  if (leftSeconds < 0 || leftSeconds > 2 * TOKEN_SECONDS) {
    const when = leftSeconds < 0 ? `ended ${Math.ceil(-leftSeconds)} s ago` : `ends in ${Math.floor(leftSeconds)} s`;
    const message = `the token's time ${when}, by the clock of this service; the worker's clock may be wrong`;
    throw new StopledgerError('unauthorized', message);
  }
}
