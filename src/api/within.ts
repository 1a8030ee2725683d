import { StopledgerError } from '../errors.js';

/** The work's result, or `storage-unavailable` when it takes longer than `limitMs`; the work itself goes on. */
export async function within<T>(limitMs: number, what: string, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_resolve, reject) => {
    timer = setTimeout(() => {
      reject(new StopledgerError('storage-unavailable', `${what} did not answer within ${limitMs} ms`));
    }, limitMs);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
  }
}
