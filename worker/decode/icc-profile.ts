import { WHITE_D65 } from '../../src/photometry/chromaticity.js';
import { invertMatrix, multiplyMatrix, multiplyVector } from '../../src/photometry/matrix3.js';
import { bradfordAdaptation } from '../../src/photometry/rgb-spaces.js';
import type { Matrix3 } from './decoded-frame.js';
import { parseToneCurve, type ToneCurve } from './icc-curve.js';

/** What an embedded profile turned out to be. `table` and `unusable` say why in `reason`. */
export type IccProfile =
  | {
      kind: 'matrix';
      description: string | null;
      curves: readonly [ToneCurve, ToneCurve, ToneCurve];
      /** Linear device RGB -> XYZ relative to D65, Y of white = 1. */
      rgbToXyz: Matrix3;
      /** rXYZ, gXYZ, bXYZ as columns, as the profile states them (relative to the D50 of the connection space). */
      pcsColumns: Matrix3;
    }
  | { kind: 'grey'; description: string | null; curve: ToneCurve }
  | { kind: 'table'; description: string | null; deviceSpace: string; reason: string }
  | { kind: 'unusable'; description: string | null; reason: string };

const HEADER_BYTES = 128;
const MAX_TAGS = 100;
/** No real primary takes light away; the widest encodings' imaginary blue goes down to -0.08. */
const LEAST_LUMINANCE_WEIGHT = -0.1;
const MAX_DESCRIPTION_CHARACTERS = 200;

/**
 * Reads an ICC profile's device-to-luminance part (ICC.1:2022, "Image technology colour management";
 * clause numbers from memory): header (7.2), tag table (7.3), matrix/TRC model (8.3.3, Annex F.3), grey model
 * (8.3.4, Annex F.2), chromatic adaptation (9.2.15 `chad`, Annex E).
 *
 * White is what R = G = B = 1 makes. It is brought to D65: a `chad` matrix is undone first, then linear Bradford
 * does the rest; with the usual Bradford `chad` the two together are the plain D50-to-D65 transform, so the same
 * picture saved with different profiles has the same luminance.
 *
 * The bytes may be anything: every offset is checked, counts are capped, nothing throws.
 */
export function parseIccProfile(bytes: Uint8Array): IccProfile {
  const reader = IccTags.open(bytes);
  if (typeof reader === 'string') return { kind: 'unusable', description: null, reason: reader };
  const description = reader.description();
  if (reader.deviceSpace === 'GRAY') return greyProfile(reader, description);
  if (reader.deviceSpace !== 'RGB ') {
    const reason = `its device space is ${reader.deviceSpace.trim() || 'not named'}, which only tables can describe`;
    return { kind: 'table', description, deviceSpace: reader.deviceSpace, reason };
  }
  return rgbProfile(reader, description);
}

function rgbProfile(reader: IccTags, description: string | null): IccProfile {
  const { deviceSpace } = reader;
  const hasMatrix = reader.connectionSpace === 'XYZ ' && ['rXYZ', 'gXYZ', 'bXYZ'].every((name) => reader.has(name));
  if (!hasMatrix) {
    if (!reader.has('A2B0') && !reader.has('A2B1'))
      return { kind: 'unusable', description, reason: 'it has neither primaries nor a conversion table' };
    return { kind: 'table', description, deviceSpace, reason: 'it describes colours by tables, not by curves' };
  }
  const [red, green, blue] = ['rTRC', 'gTRC', 'bTRC'].map((name) => reader.curve(name));
  if (!red || !green || !blue) return { kind: 'unusable', description, reason: 'a tone curve is missing or damaged' };
  const columns = ['rXYZ', 'gXYZ', 'bXYZ'].map((name) => reader.numbers(name, 'XYZ ', 3));
  const [r, g, b] = columns;
  if (!r || !g || !b) return { kind: 'unusable', description, reason: 'a primary is missing or damaged' };
  const [rx = 0, ry = 0, rz = 0] = r;
  const [gx = 0, gy = 0, gz = 0] = g;
  const [bx = 0, by = 0, bz = 0] = b;
  const pcsColumns: Matrix3 = [rx, gx, bx, ry, gy, by, rz, gz, bz];
  const rgbToXyz = relativeToD65(pcsColumns, reader.adaptation());
  if (rgbToXyz === null) return { kind: 'unusable', description, reason: 'its primaries do not make a white' };
  return { kind: 'matrix', description, curves: [red, green, blue], rgbToXyz, pcsColumns };
}

function greyProfile(reader: IccTags, description: string | null): IccProfile {
  const curve = reader.curve('kTRC');
  if (!curve) return { kind: 'unusable', description, reason: 'its grey tone curve is missing or damaged' };
  if (reader.connectionSpace === 'XYZ ') return { kind: 'grey', description, curve };
  if (reader.connectionSpace === 'Lab ')
    return { kind: 'grey', description, curve: (device) => lightnessShareToLinear(curve(device)) };
  return { kind: 'unusable', description, reason: 'its connection space is neither XYZ nor Lab' };
}

/** CIE 1976 L* / 100 -> Y, CIE 15:2018 clause 8.2.1 with its exact fractions 216/24389 and 24389/27. */
function lightnessShareToLinear(share: number): number {
  const lightness = share * 100;
  return lightness > 8 ? ((lightness + 16) / 116) ** 3 : (lightness * 27) / 24_389;
}

/** Null when the primaries make no white or cannot be told apart. */
function relativeToD65(pcsColumns: Matrix3, adaptation: Matrix3 | null): Matrix3 | null {
  const undo = adaptation === null ? null : inverse(adaptation);
  const native = undo === null ? pcsColumns : multiplyMatrix(undo, pcsColumns);
  const [x, y, z] = multiplyVector(native, [1, 1, 1]);
  if (![x, y, z].every((value) => Number.isFinite(value) && value > 0.05 && value < 20)) return null;
  const nativeWhite = { x: x / (x + y + z), y: y / (x + y + z) };
  const adapted = multiplyMatrix(bradfordAdaptation(nativeWhite, WHITE_D65), native);
  const [a, b, c, d, e, f, g, h, i] = adapted;
  const whiteY = d + e + f;
  const luminanceWeights = [d / whiteY, e / whiteY, f / whiteY];
  if (!adapted.every(Number.isFinite) || inverse(adapted) === null || !(whiteY > 0)) return null;
  if (luminanceWeights.some((weight) => weight < LEAST_LUMINANCE_WEIGHT)) return null;
  return [a / whiteY, b / whiteY, c / whiteY, d / whiteY, e / whiteY, f / whiteY, g / whiteY, h / whiteY, i / whiteY];
}

function inverse(matrix: Matrix3): Matrix3 | null {
  try {
    return invertMatrix(matrix);
  } catch {
    return null;
  }
}

/** The tag table of a profile nobody vouches for. */
class IccTags {
  private constructor(
    private readonly elements: ReadonlyMap<string, Uint8Array>,
    readonly deviceSpace: string,
    readonly connectionSpace: string,
  ) {}

  /** The reader, or why there is none. */
  static open(bytes: Uint8Array): IccTags | string {
    if (bytes.length < HEADER_BYTES + 4)
      return `it has ${bytes.length} bytes, a header alone needs ${HEADER_BYTES + 4}`;
    if (ascii(bytes, 36, 40) !== 'acsp') return 'it lacks the profile file signature';
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    const count = view.getUint32(HEADER_BYTES);
    if (count > MAX_TAGS) return `it claims ${count} tags, more than the ${MAX_TAGS} that are read`;
    const elements = new Map<string, Uint8Array>();
    for (let index = 0; index < count; index += 1) {
      const at = HEADER_BYTES + 4 + index * 12;
      if (at + 12 > bytes.length) return 'its tag table is cut short';
      const [offset, size] = [view.getUint32(at + 4), view.getUint32(at + 8)];
      if (offset + size <= bytes.length) elements.set(ascii(bytes, at, at + 4), bytes.subarray(offset, offset + size));
    }
    return new IccTags(elements, ascii(bytes, 16, 20), ascii(bytes, 20, 24));
  }

  has(name: string): boolean {
    return this.elements.has(name);
  }

  curve(name: string): ToneCurve | null {
    const element = this.elements.get(name);
    return element === undefined ? null : parseToneCurve(element);
  }

  /** s15Fixed16 numbers of an XYZType (10.31) or s15Fixed16ArrayType (10.22) element. */
  numbers(name: string, type: 'XYZ ' | 'sf32', count: number): number[] | null {
    const element = this.elements.get(name);
    if (element === undefined || element.length < 8 + count * 4 || ascii(element, 0, 4) !== type) return null;
    const view = new DataView(element.buffer, element.byteOffset, element.byteLength);
    return Array.from({ length: count }, (_, index) => view.getInt32(8 + index * 4) / 65_536);
  }

  /** The `chad` matrix, row-major; null when there is none that can be undone. */
  adaptation(): Matrix3 | null {
    const values = this.numbers('chad', 'sf32', 9);
    if (values === null) return null;
    const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0, i = 0] = values;
    return [a, b, c, d, e, f, g, h, i];
  }

  /** Version 2 textDescriptionType or version 4 multiLocalizedUnicodeType (10.15), first record. */
  description(): string | null {
    const element = this.elements.get('desc');
    if (element === undefined || element.length < 12) return null;
    const view = new DataView(element.buffer, element.byteOffset, element.byteLength);
    const type = ascii(element, 0, 4);
    if (type === 'desc') return clean(ascii(element, 12, 12 + Math.min(view.getUint32(8), MAX_DESCRIPTION_CHARACTERS)));
    if (type !== 'mluc' || element.length < 28) return null;
    const [length, offset] = [view.getUint32(20), view.getUint32(24)];
    if (offset + length > element.length) return null;
    let text = '';
    for (let at = offset; at + 2 <= offset + length && text.length < MAX_DESCRIPTION_CHARACTERS; at += 2)
      text += String.fromCharCode(view.getUint16(at));
    return clean(text);
  }
}

/** Control characters and lone surrogates out; null when nothing is left. */
function clean(text: string): string | null {
  const printable = text.replace(/[\p{Cc}\p{Cs}]/gu, '').trim();
  return printable === '' ? null : printable;
}

function ascii(bytes: Uint8Array, start: number, end: number): string {
  return String.fromCharCode(...bytes.subarray(start, Math.min(end, bytes.length)));
}
