import type { Response } from 'express';
import PQueue from 'p-queue';
import type { FrameProducts } from '../contracts/jobs.js';
import { StopledgerError } from '../errors.js';
import type { FrameRecord } from '../store/port.js';
import type { AppDeps } from './deps.js';
import { goneSignal } from './resource.js';

/** Large pictures being made at the same time; each takes a core for some seconds at 45 megapixels. */
const PICTURES_AT_ONCE = 2;

/** Pictures that are made when they are asked for, a few at a time. */
export class Drawings {
  readonly #running = new PQueue({ concurrency: PICTURES_AT_ONCE });

  /**
   * Makes one in its turn; null when the client has gone, for whom nothing is begun any more. `draw` looks at the signal
   * between its steps.
   */
  async of(response: Response, draw: (gone: AbortSignal) => Promise<Buffer>): Promise<Buffer | null> {
    const gone = goneSignal(response);
    try {
      return await this.#running.add(() => draw(gone), { signal: gone });
    } catch (error) {
      if (gone.aborted) return null;
      throw error;
    }
  }
}

/**
 * A picture that was kept with the frame's measurement. Throws `picture-missing` when it is gone, and tells the
 * operator: no client can do anything about it.
 */
export async function keptPicture(
  { files, log }: Pick<AppDeps, 'files' | 'log'>,
  { shootId, name, sha256 }: Pick<FrameRecord, 'shootId' | 'name' | 'sha256'>,
  which: keyof FrameProducts,
): Promise<Buffer> {
  const picture = await files.getProduct(shootId, sha256, which);
  if (picture !== null) return picture;
  log.error({ shootId, frameName: name, picture: which }, 'a picture that was kept is gone');
  const what = { previewJpeg: 'preview', regionsPng: 'picture of its regions' }[which];
  throw new StopledgerError('picture-missing', `the ${what} of frame ${JSON.stringify(name)} is no longer kept`);
}
