import type { LibRawInstance } from 'libraw-wasm/dist/libraw.js';
import type { EmbeddedPreview } from './decoded-frame.js';
import type { Attempt } from './libraw-module.js';
import { readTiffImages, type TiffImage } from './tiff-extents.js';

/** Compression by JPEG, and the photometric interpretations of pictures that are rendered: TIFF 6.0; TIFF technical note 2. */
const JPEG_COMPRESSIONS = [6, 7];
const RENDERED = [0, 1, 2, 6];
const START_OF_IMAGE = 0xffd8;
/** A TIFF begins with one, whatever the maker writes after it. */
const BYTE_ORDERS = ['II', 'MM'];

/** Whether a picture beside the mosaic is told to be JPEG and is none: LibRaw would look for its end for ever. */
function announcesFalseJpeg(bytes: Buffer): boolean {
  const isFalse = ({ compression, photometric, extents: [first] }: TiffImage): boolean =>
    JPEG_COMPRESSIONS.includes(compression) &&
    RENDERED.includes(photometric) &&
    first !== undefined &&
    (first.offset + 2 > bytes.length || bytes.readUInt16BE(first.offset) !== START_OF_IMAGE);
  return readTiffImages(bytes).images.some(isFalse);
}

/**
 * The largest JPEG that a camera put into its raw file: its own rendering of the same exposure. Null when there is
 * none, when it is not a JPEG, or when LibRaw cannot read it: the raw itself may be whole.
 *
 * @param libraw with the file open
 * @param bytes the file
 */
export function previewIn(libraw: LibRawInstance, attempt: Attempt, bytes: Buffer): EmbeddedPreview | null {
  try {
    if (BYTE_ORDERS.includes(bytes.toString('latin1', 0, 2)) && announcesFalseJpeg(bytes)) return null;
    const found = attempt('LibRaw could not read the embedded preview', 'frame-corrupt', () => libraw.thumbnailData());
    if (found?.format !== 'jpeg') return null;
    const jpeg = Buffer.from(found.data.buffer, found.data.byteOffset, found.data.byteLength);
    if (jpeg.length < 4 || jpeg.readUInt16BE(0) !== START_OF_IMAGE) return null;
    return { jpeg, widthPx: found.width, heightPx: found.height };
  } catch {
    return null;
  }
}
