import type { FileHandle } from 'node:fs/promises';
import { expect, it } from 'vitest';
import { GatheredWrites } from '../../src/store/gathered-writes.js';

/** A file that takes at most so many bytes at a time and fails after `failAfter` writes. */
function slowDisk(most: number, failAfter = Infinity) {
  const disk = { text: '', batches: [] as number[] };
  const file = {
    writev(chunks: Uint8Array[]) {
      disk.batches.push(chunks.length);
      if (disk.batches.length > failAfter) return Promise.reject(Object.assign(new Error('full'), { code: 'ENOSPC' }));
      const taken = Buffer.concat(chunks).subarray(0, most);
      disk.text += taken.toString();
      return Promise.resolve({ bytesWritten: taken.byteLength, buffers: chunks });
    },
  };
  return { disk, writes: new GatheredWrites(file as unknown as FileHandle) };
}

it('a disk that takes fewer bytes than it is given gets the rest in order', async () => {
  for (const most of [1, 2, 3, 5, 100]) {
    const { disk, writes } = slowDisk(most);
    for (const text of ['ab', '', 'cde', 'f']) expect(writes.add(Buffer.from(text))).toBeNull();
    await writes.end();
    expect(disk.text).toBe('abcdef');
  }
});

it('very small chunks are written after some hundred, not gathered by the million', async () => {
  const { disk, writes } = slowDisk(1_000_000);
  for (let n = 0; n < 1000; n += 1) await writes.add(Buffer.from('x'));
  await writes.end();
  expect(disk.text).toBe('x'.repeat(1000));
  expect(Math.max(...disk.batches)).toBeLessThanOrEqual(256);
});

it('a disk that is full is told of at the next batch or at the end, and idle is never rejected', async () => {
  const { writes } = slowDisk(1_000_000, 0);
  const large = Buffer.alloc(2_000_000);
  await writes.add(large);
  await expect(writes.add(large)).rejects.toMatchObject({ code: 'ENOSPC' });
  await writes.idle();
  const { writes: last } = slowDisk(1_000_000, 0);
  void last.add(Buffer.from('x'));
  await expect(last.end()).rejects.toMatchObject({ code: 'ENOSPC' });
  await last.idle();
});
