import type { LibRawInstance } from 'libraw-wasm/dist/libraw.js';
import type { EmbeddedPreview } from './decoded-frame.js';
import type { Attempt } from './libraw-module.js';

/**
 * The largest JPEG that a camera put into its raw file: its own rendering of the same exposure. Null when there is
 * none, when it is not a JPEG, or when LibRaw cannot read it: the raw itself may be whole.
 *
 * @param libraw with the file open
 */
export function previewIn(libraw: LibRawInstance, attempt: Attempt): EmbeddedPreview | null {
  try {
    const found = attempt('LibRaw could not read the embedded preview', 'frame-corrupt', () => libraw.thumbnailData());
    if (found?.format !== 'jpeg') return null;
    const jpeg = Buffer.from(found.data.buffer, found.data.byteOffset, found.data.byteLength);
    if (jpeg.length < 4 || jpeg.readUInt16BE(0) !== 0xffd8) return null;
    return { jpeg, widthPx: found.width, heightPx: found.height };
  } catch {
    return null;
  }
}
