import { StopledgerError } from '../../src/errors.js';
import type { DecodedFrame } from './decoded-frame.js';

export async function decodeRaw(..._args: unknown[]): Promise<DecodedFrame> {
  throw new StopledgerError('frame-format-unsupported', 'not yet');
}
