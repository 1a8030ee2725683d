import { StopledgerError } from '../errors.js';

/**
 * The SHA-256 that the client says its bytes have, as hex, from `Content-Digest` or `Repr-Digest` (RFC 9530: a
 * structured-field dictionary, `sha-256=:base64:`); null when none was sent. Other algorithms are passed over, as
 * the standard has it. Throws `bad-request` for a value that is no SHA-256.
 */
export function announcedSha256(header: (name: string) => string | undefined): string | null {
  for (const name of ['content-digest', 'repr-digest']) {
    const members = (header(name) ?? '').split(',').map((member) => member.trim());
    const member = members.find((one) => /^sha-256\s*=/i.test(one));
    if (member === undefined) continue;
    const [, base64] = /^sha-256=:([A-Za-z0-9+/]{43}=):$/i.exec(member) ?? [];
    if (base64 === undefined) {
      throw new StopledgerError('bad-request', `${name}: sha-256=:base64: expected, received ${member.slice(0, 80)}`);
    }
    return Buffer.from(base64, 'base64').toString('hex');
  }
  return null;
}
