import type { LibRawImage, LibRawInstance, LibRawMetadata } from 'libraw-wasm/dist/libraw.js';
import { StopledgerError } from '../../src/errors.js';
import { multiplyMatrix } from '../../src/photometry/matrix3.js';
import type { SniffedFormat } from '../read/sniff-format.js';
import type { DecodeOptions, DecodedFrame, Matrix3 } from './decoded-frame.js';
import { previewIn } from './embedded-preview.js';
import { pictureOfDng } from './dng-cells.js';
import { withLibRaw, type Attempt, type Beside } from './libraw-module.js';
import { SETTINGS } from './libraw-settings.js';
import { refuseTooManyPixels } from './pixel-limit.js';
import { CROP_TO_STRIP, isMadeOfCells, pictureOfCells, WHOLE_PICTURE } from './raw-cells.js';
import { makerExposureOf } from './raw-exposure.js';
import { missingForSize, missingFromRaw } from './raw-extents.js';
import { SRGB_TO_XYZ } from './rgb-primaries.js';

/**
 * Linear value of the sensor's saturation (of the green channel). By ISO 12232:2006 the saturation-based speed
 * puts an 18 % grey at 10 / 78 of saturation (H = 10 / S for the grey, 78 / S for saturation), so that diffuse
 * white = 1 stands half a stop below it and 0.18 x 7.8 = 1.404 saturates.
 */
export const SATURATION_LINEAR = 0.18 * 7.8;

/**
 * Share of saturation from which a raw code counts as clipped: photosites saturate a little apart from each other.
 * Common practice, no single source.
 */
const CLIPPED_FROM_SHARE = 0.99;

const MAX_CODE = 65_535;

/**
 * Camera raw to scene-linear light in the camera's own primaries, at half size. Codes are proportional to light;
 * `clipFromCode` is where each channel's photosites are full; values above diffuse white (1) occur. Errors as
 * `decodeFrame`; `frame-format-unsupported` also for raws of a kind that LibRaw does not know.
 */
export async function decodeRaw(
  bytes: Buffer,
  { rawFamily }: SniffedFormat,
  { maxPixels, orientation }: DecodeOptions,
): Promise<DecodedFrame> {
  const missing = missingFromRaw(bytes, rawFamily);
  const name = rawFamily === null ? 'raw' : `raw (${rawFamily})`;
  return withLibRaw((libraw, attempt, beside) => {
    const header = attempt(
      `LibRaw does not know this ${name} file, or its header is damaged`,
      unreadable(missing),
      () => {
        libraw.open(bytes, { ...SETTINGS, cropbox: CROP_TO_STRIP });
        return libraw.metadata(true);
      },
    );
    refuseTooManyPixels(header.width, header.height, maxPixels);
    refuseTooManyPixels(header.raw_width, header.raw_height, maxPixels);
    const notThere = missing ?? missingForSize(bytes, header.raw_width, header.raw_height);
    if (notThere !== null) throw new StopledgerError('frame-truncated', `The ${name} file ends early: ${notThere}`);
    const { image, colour } = imageOf(libraw, attempt, beside, bytes, header, name, rawFamily);
    const { data, width, height, colors } = image;
    if (colors !== 1 && colors !== 3)
      throw new StopledgerError(
        'frame-format-unsupported',
        `The ${name} file has ${colors} colour channels, expected 1 or 3`,
      );
    if (!(data instanceof Uint16Array) || data.length !== width * height * colors)
      throw new StopledgerError(
        'frame-corrupt',
        `LibRaw gave ${data.length} samples for ${width} x ${height} x ${colors}`,
      );
    if (!(colour.maximum > 0 && colour.maximum <= MAX_CODE))
      throw new StopledgerError(
        'frame-corrupt',
        `The ${name} file's white level less its black level is no valid range`,
      );

    const fullCodes = saturationCodes(colour.pre_mul, colors);
    const greenFull = fullCodes[colors === 1 ? 0 : 1] ?? MAX_CODE;
    const table = linearTable(greenFull);
    const notes = ['Raw at half size: each pixel is one 2 x 2 cell of the mosaic.'];
    if (!((colour.cam_mul[0] ?? 0) > 0)) notes.push('The file states no as-shot white balance; daylight was assumed.');
    const matrix = cameraToXyz(colour.rgb_cam);
    if (matrix === null) notes.push('The camera is not known to LibRaw: its primaries were taken as those of sRGB.');
    return {
      format: 'raw',
      encoding: 'scene',
      storedWidthPx: width,
      storedHeightPx: height,
      orientation: orientation === 1 ? exifOrientationOfFlip(header.flip) : orientation,
      sourceBitDepth: bitDepth(header),
      sourceChannels: 1,
      data,
      channels: colors,
      maxCode: MAX_CODE,
      codeToLinear: new Array<Float32Array>(colors).fill(table),
      rgbToXyz: colors === 1 ? SRGB_TO_XYZ : (matrix ?? SRGB_TO_XYZ),
      clipFromCode: fullCodes.map((code) => Math.max(1, Math.floor(code * CLIPPED_FROM_SHARE))),
      profile: {
        description: null,
        kind: 'none',
        handling: 'linear',
        because: `Raw codes are proportional to light; sensor saturation stands for ${SATURATION_LINEAR.toFixed(3)} of diffuse white (ISO 12232)`,
      },
      notes,
      makerExposure: makerExposureOf(header),
      embeddedPreview: previewIn(libraw, attempt, bytes),
    };
  });
}

/** All pixels and the colour data that they were made by. */
function imageOf(
  libraw: LibRawInstance,
  attempt: Attempt,
  beside: Beside,
  bytes: Buffer,
  header: LibRawMetadata,
  name: string,
  rawFamily: string | null,
): { image: LibRawImage; colour: LibRawMetadata['color_data'] } {
  const decoded = <T>(step: () => T): T =>
    attempt(`LibRaw could not decode the image data of this ${name} file`, 'frame-corrupt', step);
  const coloured = (): LibRawMetadata =>
    attempt('LibRaw lost its colour data', 'frame-corrupt', () => libraw.metadata(true));
  if (isMadeOfCells(header)) {
    const own = rawFamily === 'dng' ? pictureOfDng(bytes, header, beside) : null;
    if (own !== null) return { image: { ...own.picture, colors: 3, bits: 16 }, colour: own.after.color_data };
    const strip = decoded(() => libraw.imageData());
    const after = coloured();
    const mosaic = decoded(() => libraw.rawImageData());
    const picture = pictureOfCells(header, strip, after, mosaic);
    if (picture !== null) return { image: { ...picture, colors: 3, bits: 16 }, colour: after.color_data };
  }
  decoded(() => {
    libraw.open(bytes, { ...SETTINGS, cropbox: WHOLE_PICTURE });
  });
  const image = decoded(() => libraw.imageData());
  if (image === undefined) throw new StopledgerError('frame-corrupt', `The ${name} file holds no image data`);
  return { image, colour: coloured().color_data };
}

function unreadable(missing: string | null): 'frame-truncated' | 'frame-format-unsupported' {
  return missing === null ? 'frame-format-unsupported' : 'frame-truncated';
}

/** LibRaw scales channel c by pre_mul[c] / max(pre_mul) so that the most amplified one fills the range. */
function saturationCodes(multipliers: readonly number[], colors: 1 | 3): number[] {
  const used = multipliers.slice(0, colors);
  const largest = Math.max(...used);
  if (used.length !== colors || !used.every((value) => Number.isFinite(value) && value > 0))
    throw new StopledgerError('frame-corrupt', `White balance multipliers ${used.join(', ')} are not all positive`);
  return used.map((value) => Math.min(MAX_CODE, Math.max(1, Math.floor((value / largest) * MAX_CODE))));
}

function linearTable(greenFullCode: number): Float32Array {
  const perCode = SATURATION_LINEAR / greenFullCode;
  const table = new Float32Array(MAX_CODE + 1);
  for (let code = 0; code <= MAX_CODE; code += 1) table[code] = code * perCode;
  return table;
}

/**
 * Camera RGB (white balanced) -> XYZ relative to D65: LibRaw's matrix to linear sRGB, whose rows add up to 1, then
 * sRGB to XYZ. Null when LibRaw has none for this camera.
 */
function cameraToXyz(rgbFromCamera: readonly (readonly number[])[]): Matrix3 | null {
  const cells = rgbFromCamera.slice(0, 3).flatMap((row) => row.slice(0, 3));
  const [a, b, c, d, e, f, g, h, i] = cells;
  if (cells.length !== 9 || !cells.every(Number.isFinite)) return null;
  const toSrgb: Matrix3 = [a ?? 0, b ?? 0, c ?? 0, d ?? 0, e ?? 0, f ?? 0, g ?? 0, h ?? 0, i ?? 0];
  const rowsAddUpToOne = [0, 3, 6].every(
    (at) => Math.abs((cells[at] ?? 0) + (cells[at + 1] ?? 0) + (cells[at + 2] ?? 0) - 1) < 1e-3,
  );
  return rowsAddUpToOne ? multiplyMatrix(SRGB_TO_XYZ, toSrgb) : null;
}

/** LibRaw's flip (0, 3 = 180 degrees, 5 = 90 counter-clockwise, 6 = 90 clockwise) as Exif orientation. */
function exifOrientationOfFlip(flip: number): number {
  return flip === 3 ? 3 : flip === 5 ? 8 : flip === 6 ? 6 : 1;
}

function bitDepth(header: LibRawMetadata): number {
  const bits = header.color_data.raw_bps;
  return bits >= 8 && bits <= 16 ? bits : 16;
}
