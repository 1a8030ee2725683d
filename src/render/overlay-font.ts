import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import opentype from 'opentype.js';

let font: opentype.Font | undefined;

/** The label font, shipped as a package, so that a machine without fonts draws the same labels. */
function labelFont(): opentype.Font {
  if (font === undefined) {
    const path = createRequire(import.meta.url).resolve(
      '@fontsource/atkinson-hyperlegible/files/atkinson-hyperlegible-latin-700-normal.woff',
    );
    const bytes = readFileSync(path);
    font = opentype.parse(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  }
  return font;
}

export interface LabelPath {
  /** SVG path data with its baseline start at (0, 0). */
  data: string;
  widthPx: number;
}

/** A line of text as outlines, `sizePx` high. */
export function labelPath(text: string, sizePx: number): LabelPath {
  return {
    data: labelFont().getPath(text, 0, 0, sizePx).toPathData(1),
    widthPx: labelFont().getAdvanceWidth(text, sizePx),
  };
}
