import type { DecodedFrame } from '../../worker/decode/decoded-frame.js';

/** A decoded grey frame whose codes are proportional to light. */
export function codeLightTable(of: {
  data: Uint16Array;
  widthPx: number;
  heightPx: number;
  maxCode: number;
}): DecodedFrame {
  const { data, widthPx, heightPx, maxCode } = of;
  return {
    format: 'tiff',
    encoding: 'rendered',
    storedWidthPx: widthPx,
    storedHeightPx: heightPx,
    orientation: 1,
    sourceBitDepth: 16,
    sourceChannels: 1,
    data,
    channels: 1,
    maxCode,
    codeToLinear: [Float32Array.from({ length: maxCode + 1 }, (_, code) => code / maxCode)],
    rgbToXyz: [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505],
    clipFromCode: [maxCode],
    profile: { description: null, kind: 'grey', handling: 'linear', because: 'made for a test' },
    notes: [],
  };
}
