import { bradfordAdaptation, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { WHITE_D65, type Xy } from '../../src/photometry/chromaticity.js';
import { srgbEncodedToLinear } from '../../src/photometry/srgb.js';
import { multiplyMatrix } from '../../src/photometry/matrix3.js';
import { StopledgerError } from '../../src/errors.js';
import type { CodedColour } from './box-file.js';
import { codedColourHandling } from './coded-colour.js';
import { statedSpace, takenAsSrgb, type CodeScale, type ColourHandling } from './colour-handling.js';
import type { Matrix3 } from './decoded-frame.js';
import { SRGB_TO_XYZ } from './rgb-primaries.js';

/** What a PNG says of its colour in chunks other than iCCP; each null where the chunk is absent or of a wrong length. */
export interface PngColour {
  /** cICP: code points of ITU-T H.273. */
  coded: (CodedColour & { fullRange: boolean }) | null;
  /** sRGB: rendering intent. */
  srgbIntent: number | null;
  /** gAMA: the encoding exponent, 0.45455 for pictures of a display of gamma 2.2. */
  encodingGamma: number | null;
  /** cHRM. */
  primaries: { white: Xy; red: Xy; green: Xy; blue: Xy } | null;
}

/** gAMA and cHRM count in steps of 1/100,000. */
const UNIT = 1e-5;
/** Encoding exponents outside are damage: 10 down to 1/10. Chosen wide, no source. */
const GAMMA_RANGE = [0.1, 10] as const;

/**
 * Reads the colour chunks before the first IDAT (PNG third edition, clauses 11.3.2.1 cHRM, 11.3.2.2 gAMA, 11.3.2.5
 * sRGB, 11.3.2.6 cICP; from memory). The first chunk of each kind counts. Never throws.
 */
export function readPngColour(bytes: Buffer): PngColour {
  const colour: PngColour = { coded: null, srgbIntent: null, encodingGamma: null, primaries: null };
  for (let at = 8; at + 12 <= bytes.length;) {
    const lengthBytes = bytes.readUInt32BE(at);
    const type = bytes.toString('latin1', at + 4, at + 8);
    const start = at + 8;
    at = start + lengthBytes + 4;
    if (type === 'IDAT' || type === 'IEND' || at > bytes.length) break;
    if (type === 'cICP' && lengthBytes === 4)
      colour.coded ??= {
        primaries: bytes.readUInt8(start),
        transfer: bytes.readUInt8(start + 1),
        fullRange: bytes.readUInt8(start + 3) === 1,
      };
    else if (type === 'sRGB' && lengthBytes === 1) colour.srgbIntent ??= bytes.readUInt8(start);
    else if (type === 'gAMA' && lengthBytes === 4) colour.encodingGamma ??= bytes.readUInt32BE(start) * UNIT;
    else if (type === 'cHRM' && lengthBytes === 32) {
      const xy = (index: number): Xy => ({
        x: bytes.readUInt32BE(start + index * 8) * UNIT,
        y: bytes.readUInt32BE(start + index * 8 + 4) * UNIT,
      });
      colour.primaries ??= { white: xy(0), red: xy(1), green: xy(2), blue: xy(3) };
    }
  }
  return colour;
}

/**
 * Colour of a PNG by sRGB, else by gAMA and cHRM, in this order (PNG third edition, clause 4.3, from memory: cICP
 * before iCCP before sRGB before gAMA and cHRM). Null when it has none of these. A chunk that cannot be meant is
 * passed over, and `because` says so.
 */
export function pngChunkHandling(colour: PngColour, channels: 1 | 3, scale: CodeScale): ColourHandling | null {
  const { srgbIntent, encodingGamma, primaries } = colour;
  if (srgbIntent !== null)
    return takenAsSrgb(channels, scale, 'none', null, 'The file holds no profile; its sRGB chunk says sRGB');
  if (encodingGamma === null && primaries === null) return null;

  const gammaUsable =
    encodingGamma !== null && encodingGamma >= GAMMA_RANGE[0] && encodingGamma <= GAMMA_RANGE[1] ? encodingGamma : null;
  const matrix = primaries === null ? null : matrixOf(primaries);
  const curveWords =
    encodingGamma === null
      ? 'no gAMA chunk, so the sRGB curve'
      : gammaUsable === null
        ? `gAMA says ${encodingGamma.toFixed(5)}, which cannot be meant, so the sRGB curve`
        : `gAMA ${gammaUsable.toFixed(5)}`;
  const primaryWords =
    primaries === null
      ? 'no cHRM chunk, so the primaries of sRGB'
      : matrix === null
        ? 'a cHRM chunk that spans no colour space, so the primaries of sRGB'
        : 'the primaries of its cHRM chunk';
  const because = `The file holds no profile; its chunks say: ${curveWords}; ${primaryWords}`;
  if (gammaUsable === null && matrix === null) return takenAsSrgb(channels, scale, 'none', null, because);
  return statedSpace({
    curve: gammaUsable === null ? srgbEncodedToLinear : (code) => code ** (1 / gammaUsable),
    rgbToXyz: matrix ?? SRGB_TO_XYZ,
    description: describe(gammaUsable, matrix),
    because,
    channels,
    scale,
  });
}

/** @throws `frame-format-unsupported` for code points that cannot be read as rendered light, as `codedColourHandling`. */
export function pngCodedHandling(
  coded: NonNullable<PngColour['coded']>,
  channels: 1 | 3,
  scale: CodeScale,
): ColourHandling {
  if (!coded.fullRange)
    throw new StopledgerError(
      'frame-format-unsupported',
      "The PNG's cICP chunk says that codes are of narrow (video) range; expected full range",
    );
  return codedColourHandling(coded, channels, scale);
}

/** Tells renderings of one camera apart, as a profile's name would. */
function describe(gamma: number | null, matrix: Matrix3 | null): string {
  const row =
    matrix === null
      ? 'sRGB primaries'
      : `luminance row ${matrix
          .slice(3, 6)
          .map((v) => v.toFixed(4))
          .join(' ')}`;
  return `PNG chunks: ${gamma === null ? 'sRGB curve' : `gAMA ${gamma.toFixed(5)}`}, ${row}`;
}

/** Linear RGB -> XYZ relative to D65 (Bradford from another white); null unless the four points make a usable space. */
function matrixOf(space: { white: Xy; red: Xy; green: Xy; blue: Xy }): Matrix3 | null {
  if (![space.white, space.red, space.green, space.blue].every(({ x, y }) => x >= 0 && x <= 1 && y > 0 && y <= 1))
    return null;
  try {
    const matrix = multiplyMatrix(bradfordAdaptation(space.white, WHITE_D65), rgbToXyzMatrix(space));
    // White must be light of all three, and none may take light away.
    const row = [matrix[3], matrix[4], matrix[5]];
    return matrix.every(Number.isFinite) && row.every((weight) => weight > -0.01 && weight < 1.01) ? matrix : null;
  } catch {
    // Three points on one line: no space at all.
    return null;
  }
}
