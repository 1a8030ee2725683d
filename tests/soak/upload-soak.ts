import { randomBytes } from 'node:crypto';
import { mkdtemp, rm, statfs } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { createShoot, putBytes, startBlankService } from '../bench/bench-service.js';

const { values } = parseArgs({ options: { gigabytes: { type: 'string', default: '20' } } });
const GIGABYTES = Number(values.gigabytes);
if (!(GIGABYTES > 0)) throw new Error(`--gigabytes: a number above 0 is expected, received ${values.gigabytes}`);

const [SMALLEST_BYTES, LARGEST_BYTES] = [20_000_000, 45_000_000];
const SHOOT_BYTES = 1_000_000_000;
const AT_ONCE = 4;
/** At most two shoots lie on the disk at a time. */
const LEAST_FREE_BYTES = 4 * SHOOT_BYTES;

/**
 * `npm run soak:upload [-- --gigabytes 20]`: frames of 20 to 45 MB, no two alike, four at a time over loopback to the
 * service, which measures nothing of them; each gigabyte is a shoot that is deleted when it is full. Says what memory
 * the service holds after each.
 */
const folder = await mkdtemp(join(tmpdir(), 'stopledger-upload-soak-'));
const { bavail, bsize } = await statfs(folder);
if (bavail * bsize < LEAST_FREE_BYTES) throw new Error(`${folder}: ${LEAST_FREE_BYTES} bytes free are expected`);
const service = await startBlankService(folder);
const random = Array.from({ length: AT_ONCE }, () => randomBytes(LARGEST_BYTES));
let [sentBytes, sentFrames] = [0, 0];
const resident: number[] = [];
try {
  console.log(`  at the start: ${service.memoryMiB().toFixed(0)} MiB`);
  while (sentBytes < GIGABYTES * 1e9) {
    const startedAt = performance.now();
    const shoot = await createShoot(service.url);
    let ofShootBytes = 0;
    const sendNext = async (source: Buffer): Promise<void> => {
      while (ofShootBytes < SHOOT_BYTES) {
        sentFrames += 1;
        // Sizes spread evenly over the range by the golden ratio.
        const bytes = Math.round(SMALLEST_BYTES + (LARGEST_BYTES - SMALLEST_BYTES) * ((sentFrames * 0.618034) % 1));
        ofShootBytes += bytes;
        source.writeUInt32BE(sentFrames, 0);
        const status = await putBytes(`${shoot}/frames/${sentFrames}.jpg`, source.subarray(0, bytes));
        if (status !== 201) throw new Error(`frame ${sentFrames} of ${bytes} bytes was answered ${status}`);
      }
    };
    await Promise.all(random.map(sendNext));
    sentBytes += ofShootBytes;
    resident.push(service.memoryMiB());
    const { status } = await fetch(shoot, { method: 'DELETE' });
    if (status !== 204) throw new Error(`deleting the shoot was answered ${status}`);
    const rate = ofShootBytes / 1e3 / (performance.now() - startedAt);
    console.log(`  ${(sentBytes / 1e9).toFixed(1).padStart(5)} GB, ${sentFrames} frames: ${resident.at(-1)!.toFixed(0)} MiB, ${rate.toFixed(0)} MB/s`); // prettier-ignore
  }
  const half = resident.slice(Math.floor(resident.length / 2));
  const spread = (some: readonly number[]): string => `${Math.min(...some).toFixed(0)} to ${Math.max(...some).toFixed(0)} MiB`; // prettier-ignore
  console.log(`memory of the service: ${spread(resident)} at each gigabyte, ${spread(half)} in the second half`);
} finally {
  await service.end();
  await rm(folder, { recursive: true, force: true, maxRetries: 3 });
}
