import { withLibRaw } from './libraw-module.js';

export interface EmbeddedPreview {
  jpeg: Buffer;
  widthPx: number;
  heightPx: number;
}

/**
 * The largest JPEG that a camera put into its raw file: its own rendering of the same exposure. Null when there is
 * none, when it is not a JPEG, or when LibRaw cannot read the file.
 */
export async function embeddedPreview(bytes: Buffer): Promise<EmbeddedPreview | null> {
  try {
    return await withLibRaw((libraw, attempt) => {
      const found = attempt('LibRaw could not read the embedded preview', 'frame-corrupt', () => {
        libraw.open(bytes, {});
        return libraw.thumbnailData();
      });
      if (found?.format !== 'jpeg') return null;
      const jpeg = Buffer.from(found.data);
      if (jpeg.length < 4 || jpeg.readUInt16BE(0) !== 0xffd8) return null;
      return { jpeg, widthPx: found.width, heightPx: found.height };
    });
  } catch {
    return null;
  }
}
