import { Webhook } from 'standardwebhooks';
import { describe, expect, it } from 'vitest';
import { hmacSha256, isWebhookSecret, signedHeaders } from '../../src/notify/signature.js';

/** RFC 4231, section 4: test cases 1, 2, 3, 4, 6 and 7 (5 is truncated). */
const RFC_4231: [key: Buffer, data: Buffer, hmacSha256Hex: string][] = [
  [Buffer.alloc(20, 0x0b), Buffer.from('Hi There'), 'b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7'],
  [Buffer.from('Jefe'), Buffer.from('what do ya want for nothing?'), '5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843'],
  [Buffer.alloc(20, 0xaa), Buffer.alloc(50, 0xdd), '773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe'],
  [Buffer.from(Array.from({ length: 25 }, (_, index) => index + 1)), Buffer.alloc(50, 0xcd), '82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b'],
  [Buffer.alloc(131, 0xaa), Buffer.from('Test Using Larger Than Block-Size Key - Hash Key First'), '60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54'],
  [Buffer.alloc(131, 0xaa), Buffer.from('This is a test using a larger than block-size key and a larger than block-size data. The key needs to be hashed before being used by the HMAC algorithm.'), '9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2'],
]; // prettier-ignore

const SECRET = Buffer.alloc(24, 3).toString('base64');

describe('signatures of webhooks', () => {
  it.each(RFC_4231.map((row, index) => [index + 1, ...row] as const))('RFC 4231, row %i', (_row, key, data, expected) => {
    expect(hmacSha256(key, data).toString('hex')).toBe(expected);
  }); // prettier-ignore

  it('are taken by the reference implementation of Standard Webhooks, and refused with another body, secret or time', () => {
    const body = '{"type":"shoot.completed"}';
    const at = Math.floor(Date.now() / 1000);
    const headers = signedHeaders([SECRET], { id: 'msg_1', timestampSeconds: at, body });
    expect(new Webhook(SECRET).verify(body, headers)).toEqual({ type: 'shoot.completed' });
    expect(() => new Webhook(SECRET).verify('{"type":"shoot.flagged"}', headers)).toThrow();
    expect(() => new Webhook(Buffer.alloc(24, 4).toString('base64')).verify(body, headers)).toThrow();
    const old = signedHeaders([SECRET], { id: 'msg_1', timestampSeconds: at - 3600, body });
    expect(() => new Webhook(SECRET).verify(body, old)).toThrow();
  });

  it('are made with each of two secrets while one is changed', () => {
    const next = Buffer.alloc(24, 5).toString('base64');
    const headers = signedHeaders([SECRET, next], { id: 'msg_1', timestampSeconds: Math.floor(Date.now() / 1000), body: '{}' }); // prettier-ignore
    for (const secret of [SECRET, next]) expect(new Webhook(secret).verify('{}', headers)).toEqual({});
  });

  it('take secrets of 24 to 64 bytes only', () => {
    const bytes = (length: number) => Buffer.alloc(length, 1).toString('base64');
    for (const length of [24, 32, 64]) {
      expect(isWebhookSecret(bytes(length))).toBe(true);
      expect(isWebhookSecret(`whsec_${bytes(length)}`)).toBe(true);
    }
    for (const wrong of [bytes(23), bytes(65), 'not base64 at all, but long enough', '']) expect(isWebhookSecret(wrong)).toBe(false); // prettier-ignore
  });
});
