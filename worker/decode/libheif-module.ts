import initLibHeif, { type HeifStatus, type LibHeif } from 'libheif-js/libheif-wasm/libheif-bundle.mjs';
import { StopledgerError, type ErrorCode } from '../../src/errors.js';

export interface HeifPixels {
  widthPx: number;
  heightPx: number;
  /** height x width x 3, row-major. */
  rgb: Uint8Array;
}

/** heif_error_code of libheif: what the file asks for is not supported, or needs too much memory. */
const UNSUPPORTED_CODES = new Set([3, 4]);
const MEMORY_CODE = 6;

let current: Promise<LibHeif> | null = null;

/**
 * The primary image of a HEIF file as 8-bit RGB, rotated and mirrored as the file says, colours as coded (no
 * profile applied). `judgeSize` is called with the size before pixels are decoded. Throws StopledgerError.
 */
export async function decodePrimaryImage(
  bytes: Buffer,
  judgeSize: (widthPx: number, heightPx: number) => void,
): Promise<HeifPixels> {
  current ??= start();
  const heif = await current.catch((thrown: unknown) => {
    current = null;
    throw new StopledgerError('internal', 'The HEIF decoder could not be started', { cause: thrown });
  });
  try {
    return await decodeWith(heif, bytes, judgeSize);
  } catch (thrown) {
    if (thrown instanceof StopledgerError) throw thrown;
    // A fault inside WebAssembly memory spoils the whole module; the next frame gets a new one.
    current = null;
    const message = thrown instanceof Error ? thrown.message.slice(0, 200) : 'no reason given';
    throw new StopledgerError('frame-corrupt', `The HEIF decoder failed: ${message}`, { cause: thrown });
  }
}

async function start(): Promise<LibHeif> {
  const heif = initLibHeif({ print: () => undefined, printErr: () => undefined });
  await heif.ready;
  return heif;
}

async function decodeWith(
  heif: LibHeif,
  bytes: Buffer,
  judgeSize: (widthPx: number, heightPx: number) => void,
): Promise<HeifPixels> {
  const context = heif.heif_context_alloc();
  if (context === null) throw new Error('no memory for a context');
  let handle: object | null = null;
  try {
    refuse(heif.heif_context_read_from_memory(context, bytes), 'The HEIF file could not be read');
    const found = heif.heif_js_context_get_primary_image_handle(context);
    refuse(found, 'The HEIF file has no primary image');
    handle = found;
    const [widthPx, heightPx] = [heif.heif_image_handle_get_width(handle), heif.heif_image_handle_get_height(handle)];
    judgeSize(widthPx, heightPx);
    const decoded = await heif.heif_js_decode_image2(
      handle,
      heif.heif_colorspace.heif_colorspace_RGB,
      heif.heif_chroma.heif_chroma_interleaved_RGB,
    );
    refuse(decoded, 'The image data of the HEIF file could not be decoded');
    try {
      const [plane] = decoded.channels;
      if (plane?.width !== widthPx || plane.height !== heightPx)
        throw new StopledgerError(
          'frame-corrupt',
          `The HEIF image is not of the announced size ${widthPx} x ${heightPx}`,
        );
      return { widthPx, heightPx, rgb: withoutPadding(plane.data, plane.stride, widthPx * 3, heightPx) };
    } finally {
      heif.heif_image_release(decoded.image);
    }
  } finally {
    if (handle !== null) heif.heif_image_handle_release(handle);
    heif.heif_context_free(context);
  }
}

function withoutPadding(data: Uint8Array, strideBytes: number, rowBytes: number, rows: number): Uint8Array {
  if (strideBytes === rowBytes) return data.slice(0, rowBytes * rows);
  const packed = new Uint8Array(rowBytes * rows);
  for (let row = 0; row < rows; row += 1)
    packed.set(data.subarray(row * strideBytes, row * strideBytes + rowBytes), row * rowBytes);
  return packed;
}

function refuse(status: HeifStatus, what: string): void {
  const value = status.code?.value ?? 0;
  if (value === 0) return;
  const message = (status.message ?? 'no reason given').trim();
  throw new StopledgerError(codeFor(value, message), `${what}: ${message.slice(0, 200)}`);
}

function codeFor(value: number, message: string): ErrorCode {
  if (/end of (file|data)|truncat/i.test(message)) return 'frame-truncated';
  if (value === MEMORY_CODE && /limit exceeded/i.test(message)) return 'frame-too-many-pixels';
  return UNSUPPORTED_CODES.has(value) ? 'frame-format-unsupported' : 'frame-corrupt';
}
