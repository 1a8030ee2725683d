import { losslessJpeg, type LosslessForm } from './lossless-jpeg.js';
import { writeTiff, type TiffValue } from './tiff-writer.js';

export interface DngContent {
  /** widthPx x heightPx mosaic codes; RGGB unless `cfa` says otherwise. */
  mosaic: Uint16Array;
  widthPx: number;
  heightPx: number;
  /** One for all, or a pattern that repeats. */
  blackLevel: number | { rows: number; columns: number; levels: readonly number[] };
  whiteLevel: number;
  /** Of a cell, row by row: 0 red, 1 green, 2 blue. */
  cfa?: readonly [number, number, number, number];
  /** What of the mosaic is the picture: top, left, bottom, right. */
  activeArea?: readonly [number, number, number, number];
  /** AsShotNeutral: camera R, G, B of a neutral object. */
  neutral: readonly [number, number, number];
  orientation?: number;
  /** The mosaic as lossless JPEG of so many bits, which no value may exceed; left out: uncompressed, 16 bits. */
  losslessBits?: number;
  losslessForm?: LosslessForm;
  /** Lossless JPEGs of such a size side by side, those at the edges filled up. Left out: one strip. */
  tile?: { widthPx: number; heightPx: number };
  /** Uncompressed in fewer bits than 16, packed. */
  packedBits?: number;
  /** Rows of a strip, uncompressed; left out: all. */
  stripRows?: number;
  byteOrder?: 'II' | 'MM';
  /** More entries of the mosaic's directory. */
  more?: ReadonlyMap<number, TiffValue>;
  /** An embedded preview; the mosaic then lies in a SubIFD. */
  preview?: { jpeg: Buffer; widthPx: number; heightPx: number };
}

/** XYZ (D65) -> linear sRGB: a camera whose primaries are those of sRGB. IEC 61966-2-1, seven digits. */
const XYZ_TO_CAMERA = [
  3.2404542, -1.5371385, -0.4985314, -0.969266, 1.8760108, 0.041556, 0.0556434, -0.2040259, 1.0572252,
];

/** A DNG 1.4 with one mosaic (DNG specification 1.4, from memory). */
export function writeDng(content: DngContent): Buffer {
  const { widthPx, heightPx, blackLevel, whiteLevel, neutral, orientation = 1, preview } = content;
  const { cfa = [0, 1, 1, 2], activeArea = [0, 0, heightPx, widthPx] } = content;
  const [top, left, bottom, right] = activeArea;
  const black = typeof blackLevel === 'number' ? { rows: 1, columns: 1, levels: [blackLevel] } : blackLevel;
  const { losslessBits, tile, packedBits = 16, byteOrder = 'II' } = content;
  const parts = losslessBits === undefined ? storedStrips(content) : losslessTiles(content, losslessBits);
  const names = parts.map((_, i) => `mosaic ${i}`);
  const short = (...values: number[]): TiffValue => ({ type: 'short', values });
  const long = (...values: number[]): TiffValue => ({ type: 'long', values });
  const byte = (...values: number[]): TiffValue => ({ type: 'byte', values });
  const raw = new Map<number, TiffValue>([
    [254, long(0)],
    [256, long(widthPx)],
    [257, long(heightPx)],
    [258, short(losslessBits ?? packedBits)],
    [259, short(losslessBits === undefined ? 1 : 7)],
    [262, short(32_803)],
    [tile === undefined ? 273 : 324, { blocks: names }],
    [277, short(1)],
    [tile === undefined ? 279 : 325, long(...parts.map(({ length }) => length))],
    [284, short(1)],
    [33_421, short(2, 2)],
    [33_422, byte(...cfa)],
    [50_710, byte(0, 1, 2)],
    [50_711, short(1)],
    [50_713, short(black.rows, black.columns)],
    [50_714, long(...black.levels)],
    [50_717, long(whiteLevel)],
    [50_719, long(0, 0)],
    [50_720, long(right - left, bottom - top)],
    [50_829, long(...activeArea)],
    ...(content.more ?? []),
  ]);
  if (tile === undefined) raw.set(278, long(content.stripRows ?? heightPx));
  else raw.set(322, long(tile.widthPx)).set(323, long(tile.heightPx));
  const camera = new Map<number, TiffValue>([
    [271, { type: 'ascii', text: 'Hall' }],
    [272, { type: 'ascii', text: 'Wedge' }],
    [274, short(orientation)],
    [50_706, byte(1, 4, 0, 0)],
    [50_707, byte(1, 1, 0, 0)],
    [50_708, { type: 'ascii', text: 'Hall Wedge' }],
    [
      50_721,
      { type: 'srational', pairs: XYZ_TO_CAMERA.map((value) => [Math.round(value * 1e7), 10_000_000] as const) },
    ],
    [50_728, { type: 'rational', pairs: neutral.map((value) => [Math.round(value * 1e6), 1_000_000] as const) }],
    [50_778, short(21)],
  ]);
  const blocks = new Map<string, Uint8Array>();
  if (preview === undefined) {
    parts.forEach((part, i) => blocks.set(names[i]!, part));
    return writeTiff(new Map([['ifd0', new Map([...raw, ...camera])]]), blocks, byteOrder);
  }
  const first = new Map<number, TiffValue>([
    ...camera,
    [254, long(1)],
    [256, long(preview.widthPx)],
    [257, long(preview.heightPx)],
    [258, short(8, 8, 8)],
    [259, short(7)],
    [262, short(6)],
    [273, { block: 'preview' }],
    [277, short(3)],
    [278, long(preview.heightPx)],
    [279, long(preview.jpeg.length)],
    [284, short(1)],
    [330, { directory: 'raw' }],
  ]);
  blocks.set('preview', preview.jpeg);
  parts.forEach((part, i) => blocks.set(names[i]!, part));
  return writeTiff(
    new Map([
      ['ifd0', first],
      ['raw', raw],
    ]),
    blocks,
    byteOrder,
  );
}

/** Rows of 16 bits in the file's byte order, or packed, highest bit first, each row from a byte on. */
function storedStrips({ mosaic, widthPx, heightPx, packedBits = 16, stripRows, byteOrder }: DngContent): Uint8Array[] {
  const pitchBytes = Math.ceil((widthPx * packedBits) / 8);
  const bytes = Buffer.alloc((mosaic.length / widthPx) * pitchBytes);
  mosaic.forEach((value, i) => {
    const [x, row] = [i % widthPx, Math.floor(i / widthPx) * pitchBytes];
    if (packedBits === 16 && byteOrder !== 'MM') bytes.writeUInt16LE(value, 2 * i);
    else
      for (let bit = 0; bit < packedBits; bit++) {
        const at = x * packedBits + bit;
        bytes[row + (at >> 3)]! |= ((value >> (packedBits - 1 - bit)) & 1) << (7 - (at & 7));
      }
  });
  const stripBytes = (stripRows ?? heightPx) * pitchBytes;
  return Array.from({ length: Math.ceil(bytes.length / stripBytes) }, (_, i) =>
    bytes.subarray(i * stripBytes, (i + 1) * stripBytes),
  );
}

function losslessTiles({ mosaic, widthPx, heightPx, tile, losslessForm }: DngContent, bits: number): Uint8Array[] {
  if (tile === undefined) return [losslessJpeg(mosaic, widthPx, heightPx, bits, losslessForm)];
  const size = tile;
  const [across, down] = [Math.ceil(widthPx / size.widthPx), Math.ceil(heightPx / size.heightPx)];
  return Array.from({ length: across * down }, (_, i) => {
    const [left, top] = [(i % across) * size.widthPx, Math.floor(i / across) * size.heightPx];
    const values = Uint16Array.from({ length: size.widthPx * size.heightPx }, (__, at) => {
      const x = Math.min(widthPx - 1, left + (at % size.widthPx));
      const y = Math.min(heightPx - 1, top + Math.floor(at / size.widthPx));
      return mosaic[y * widthPx + x]!;
    });
    return losslessJpeg(values, size.widthPx, size.heightPx, bits, losslessForm);
  });
}

/**
 * An RGGB mosaic whose pixel (x, y) shows camera-linear R, G, B given by `sceneAt` as shares of saturation
 * (clipped at 1 as a sensor does).
 */
export function mosaicOf(
  widthPx: number,
  heightPx: number,
  blackLevel: number,
  whiteLevel: number,
  sceneAt: (x: number, y: number) => readonly [number, number, number],
): Uint16Array {
  const mosaic = new Uint16Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y += 1)
    for (let x = 0; x < widthPx; x += 1) {
      const channel = (y & 1) + (x & 1);
      const share = Math.min(1, Math.max(0, sceneAt(x, y)[channel] ?? 0));
      mosaic[y * widthPx + x] = Math.round(blackLevel + share * (whiteLevel - blackLevel));
    }
  return mosaic;
}
