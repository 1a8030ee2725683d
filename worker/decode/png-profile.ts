import { inflateSync } from 'node:zlib';
import { StopledgerError } from '../../src/errors.js';

/** Large table profiles of printers have a few megabytes. */
const MOST_PROFILE_BYTES = 16 * 1024 * 1024;

/**
 * Refuses a PNG whose iCCP chunk (PNG third edition, clause 11.3.2.3) inflates to more than 16 MiB: the decoder inflates
 * it whole before it looks at it, a thousand bytes for each one in the file.
 *
 * @throws StopledgerError `frame-corrupt`
 */
export function refuseInflatedProfile(bytes: Buffer): void {
  for (let at = 8; at + 12 <= bytes.length;) {
    const start = at + 8;
    const end = start + bytes.readUInt32BE(at);
    const type = bytes.toString('latin1', at + 4, start);
    if (end > bytes.length || type === 'IDAT' || type === 'IEND') return;
    if (type === 'iCCP') refuseInflated(bytes.subarray(bytes.indexOf(0, start) + 2, end));
    at = end + 4;
  }
}

function refuseInflated(deflated: Buffer): void {
  try {
    inflateSync(deflated, { maxOutputLength: MOST_PROFILE_BYTES });
  } catch (thrown) {
    // What is merely damaged is the decoder's to judge.
    if (!(thrown instanceof Error && 'code' in thrown && thrown.code === 'ERR_BUFFER_TOO_LARGE')) return;
    const message = `The PNG's profile inflates to more than the ${MOST_PROFILE_BYTES} bytes allowed`;
    throw new StopledgerError('frame-corrupt', message, { cause: thrown });
  }
}
