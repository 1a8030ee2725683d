import { gunzip, gzip } from 'node:zlib';
import { promisify } from 'node:util';
import type { Redis } from 'ioredis';
import type { MeasuredFrame } from '../../contracts/jobs.js';
import type { FrameMeasurement } from '../../contracts/measurement.js';
import { StopledgerError } from '../../errors.js';

const FIELDS = ['measurement', 'preview', 'regions'] as const;
/** A result that nobody took for so long is forgotten; its frame is then measured again. */
const KEEP_MS = 7 * 24 * 3600 * 1000;

/** Only beside a job that is still there: what finishes after its job was removed must leave nothing behind. */
const PUT = `
  if redis.call('EXISTS', KEYS[2]) == 0 then return 0 end
  redis.call('HSET', KEYS[1], 'measurement', ARGV[2], 'preview', ARGV[3], 'regions', ARGV[4])
  redis.call('PEXPIRE', KEYS[1], ARGV[1])
  return 1`;

/**
 * Keeps a result: a hash of the measurement (gzipped JSON) and the two pictures as they are, binary. Not in the job's
 * return value, which BullMQ also copies into its stream of events, ten thousand of which are kept.
 * Returns its size in bytes.
 */
export async function putResult(redis: Redis, keys: { result: string; job: string }, result: MeasuredFrame) {
  const { previewJpeg, regionsPng } = result.products;
  const measurement = await promisify(gzip)(JSON.stringify(result.measurement));
  await redis.eval(PUT, 2, keys.result, keys.job, KEEP_MS, measurement, Buffer.from(previewJpeg), Buffer.from(regionsPng)); // prettier-ignore
  return measurement.byteLength + previewJpeg.byteLength + regionsPng.byteLength;
}

/** What was kept, or null where it is gone. The measurement is checked by whoever stores it. Throws `internal`. */
export async function getResult(redis: Redis, key: string): Promise<MeasuredFrame | null> {
  const [measurement, previewJpeg, regionsPng] = await redis.hmgetBuffer(key, ...FIELDS);
  if (!measurement || !previewJpeg || !regionsPng) return null;
  try {
    const json = (await promisify(gunzip)(measurement)).toString();
    return { measurement: JSON.parse(json) as FrameMeasurement, products: { previewJpeg, regionsPng } };
  } catch (error) {
    throw new StopledgerError('internal', `the result ${key} cannot be read`, { cause: error });
  }
}
