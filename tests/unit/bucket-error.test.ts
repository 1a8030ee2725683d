import { describe, expect, it } from 'vitest';
import { bucketError } from '../../src/store/s3/bucket-error.js';

/** As the client of a bucket throws it where the server answered. */
const answered = (name: string, httpStatusCode: number) =>
  Object.assign(new Error(`said ${name}`), { name, $metadata: { httpStatusCode } });

describe('what a bucket threw', () => {
  it('is storage that is away where nobody answered or the server was at fault', () => {
    const refused = Object.assign(new Error('connect ECONNREFUSED'), { code: 'ECONNREFUSED' });
    const odd = Object.assign(new TypeError('Invalid URL'), { code: 'ERR_INVALID_URL' });
    for (const error of [refused, odd, answered('SlowDown', 503), answered('TooManyRequests', 429)])
      expect(bucketError(error)).toMatchObject({ code: 'storage-unavailable', cause: error });
  });

  it('is a full bucket where the server says so', () => {
    expect(bucketError(answered('QuotaExceeded', 403)).code).toBe('storage-full');
    expect(bucketError(answered('Any', 507)).code).toBe('storage-full');
  });

  it('is a fault of the program where the program is at fault, so that nobody waits for a server', () => {
    for (const error of [new TypeError('undefined has no send'), new RangeError('length'), new ReferenceError('key')])
      expect(bucketError(error).code).toBe('internal');
    expect(bucketError(answered('SignatureDoesNotMatch', 403)).code).toBe('internal');
  });
});
