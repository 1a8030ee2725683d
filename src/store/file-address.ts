import type { FrameProducts } from '../contracts/jobs.js';
import { StopledgerError } from '../errors.js';

/** What stands behind a frame's own address for the pictures made of it. */
export const PRODUCT_ENDINGS = { previewJpeg: '.preview.jpg', regionsPng: '.regions.png' } as const satisfies Record<
  keyof FrameProducts,
  string
>;

/** An id that may become part of a path or a key. Throws `internal` for anything else. */
export function checkedId(kind: 'shoot id' | 'SHA-256' | 'temporary id', id: string): string {
  const shape = kind === 'SHA-256' ? /^[0-9a-f]{64}$/ : /^[0-9A-Za-z_-]{1,64}$/;
  if (!shape.test(id)) throw new StopledgerError('internal', `${kind} expected, received ${JSON.stringify(id)}`);
  return id;
}
