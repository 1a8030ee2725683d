import type { FrameSource } from '../../src/contracts/measurement.js';

export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number];

/**
 * Pixels as the file holds them, with everything needed to turn a code into linear light.
 * Pixels are in STORED orientation; `orientation` says how to stand them upright (only the small
 * working image is ever turned).
 */
export interface DecodedFrame {
  format: string;
  encoding: 'rendered' | 'scene';
  storedWidthPx: number;
  storedHeightPx: number;
  /** Exif orientation still to be applied, 1..8; 1 when the decoder has applied it already. */
  orientation: number;
  /** Bits of the source file, for the record. */
  sourceBitDepth: number;
  sourceChannels: number;
  /** height x width x 3 (or x 1 for grey), row-major, interleaved. Values 0..maxCode. */
  data: Uint8Array | Uint16Array;
  channels: 1 | 3;
  /** 255 or 65535. */
  maxCode: number;
  /**
   * Per channel: code -> linear value of that channel by the file's own encoding (embedded profile's curve,
   * sRGB, or identity for raw), 0..1 for rendered files, diffuse white = 1. No camera tone response undone yet.
   * Length maxCode + 1. One entry for grey.
   */
  codeToLinear: readonly Float32Array[];
  /** Linear RGB of the file -> CIE XYZ relative to D65 white (Y of white = 1), row-major. */
  rgbToXyz: Matrix3;
  /** Codes at or above this are clipped at the top, per channel. */
  clipFromCode: readonly number[];
  profile: FrameSource['profile'];
  /** Raw and the like: sentences for the measurement's notes. */
  notes: string[];
  /** Raw: exposure as the decoder read it, maker notes included. */
  makerExposure?: MakerExposure | null;
  /** Raw: the camera's own rendering of the same exposure, where the file holds one. */
  embeddedPreview?: EmbeddedPreview | null;
}

export interface EmbeddedPreview {
  jpeg: Buffer;
  widthPx: number;
  heightPx: number;
}

/** Exposure settings and camera from a raw file's own data; null where it has none that can be believed. */
export interface MakerExposure {
  fNumber: number | null;
  exposureTimeSeconds: number | null;
  iso: number | null;
  cameraMake: string | null;
  cameraModel: string | null;
  cameraSerial: string | null;
}

/**
 * What Exif says of the colour space: ColorSpace 1 is sRGB; 0xFFFF (uncalibrated), or 2 as some cameras write, with
 * InteroperabilityIndex "R03" is Adobe RGB (DCF 2.0 option file, JEITA CP-3461; from memory).
 */
export type ExifColourSpace = 'srgb' | 'adobe-rgb' | 'other' | 'not-stated';

export interface DecodeOptions {
  /** Images that announce more pixels are refused before decoding. */
  maxPixels: number;
  /** Exif orientation that worker/read found, 1..8. */
  orientation: number;
  /** Used where the file holds no profile and no colour marks of its own. Left out: not stated. */
  exifColourSpace?: ExifColourSpace;
}
