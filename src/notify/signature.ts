import { createHmac } from 'node:crypto';

const LEAST_BYTES = 24;
const MOST_BYTES = 64;
const PREFIX = 'whsec_';

/** A secret as set, without the prefix that may stand before it. */
export const secretBase64 = (text: string): string => (text.startsWith(PREFIX) ? text.slice(PREFIX.length) : text);

/** True for base64 of 24 to 64 bytes, `whsec_` before it or not (Standard Webhooks, "Signature scheme"). */
export function isWebhookSecret(text: string): boolean {
  const base64 = secretBase64(text);
  if (!/^(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$/.test(base64)) return false;
  const { byteLength } = Buffer.from(base64, 'base64');
  return byteLength >= LEAST_BYTES && byteLength <= MOST_BYTES;
}

/** HMAC-SHA-256 (RFC 2104, FIPS 180-4). */
export const hmacSha256 = (key: Uint8Array, text: string | Uint8Array): Buffer =>
  createHmac('sha256', key).update(text).digest();

/**
 * The three headers of a signed webhook (Standard Webhooks): `v1,` and the HMAC-SHA-256 in base64 of
 * `id.timestamp.body`, one for each secret, so that a receiver may know either while a secret is changed.
 * `timestampSeconds` is the time of this attempt; receivers refuse what is too old.
 */
export function signedHeaders(
  secrets: readonly string[],
  message: { id: string; timestampSeconds: number; body: string },
): Record<string, string> {
  const { id, timestampSeconds, body } = message;
  const signed = `${id}.${timestampSeconds}.${body}`;
  const signatures = secrets.map((secret) => `v1,${hmacSha256(Buffer.from(secret, 'base64'), signed).toString('base64')}`); // prettier-ignore
  return {
    'webhook-id': id,
    'webhook-timestamp': String(timestampSeconds),
    'webhook-signature': signatures.join(' '),
  };
}
