import { StopledgerError } from '../errors.js';
import { METRES_PER_FOOT } from '../photometry/length.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../photometry/nominal-scales.js';

/* Reads quantities as photographers write them. `option` is named in the error, with what was expected. */

const NUMBER = String.raw`(?:\d+(?:\.\d+)?|\.\d+)`;
const FRACTION = new RegExp(`^(${NUMBER})(?:\\s*/\\s*(${NUMBER}))?$`);

function refuse(option: string, expected: string, text: string): never {
  throw new StopledgerError('bad-usage', `${option}: ${expected} expected; received "${text}"`);
}

/** `0.5`, `1/3`; NaN for anything else. */
function fraction(text: string): number {
  const match = FRACTION.exec(text.trim());
  return match === null ? Number.NaN : Number(match[1]) / Number(match[2] ?? 1);
}

/** An exact f-number: `8`, `f/8`, `f/5.6`; a meter's tenths or thirds after it: `f/8+0.3`, `f/8+1/3`. */
export function readFNumber(option: string, text: string): number {
  const expected = 'an f-number from 0.5 to 256 such as f/8, or f/8+0.3 with tenths of a stop';
  const match = /^(?:f\s*\/?\s*)?([\d.]+)\s*(?:\+\s*(.+))?$/i.exec(text.trim());
  const written = fraction(match?.[1] ?? '');
  const extra = match?.[2] === undefined ? 0 : fraction(match[2]);
  if (!(written >= 0.5 && written <= 256 && extra >= 0 && extra < 1)) refuse(option, expected, text);
  return exactFNumber(written).exact * 2 ** (extra / 2);
}

/** An exact exposure time in seconds: `1/125`, `0.5`, `2s`. A bare number over 60 is refused: 125 means 1/125 on a dial. */
export function readShutter(option: string, text: string): number {
  const seconds = fraction(text.replace(/\s*(?:s|sec|")$/i, ''));
  if (!(seconds >= 1 / 64000 && seconds <= 60)) refuse(option, 'a time up to 60 s such as 1/125, 0.5 or 2s', text);
  return exactExposureTimeSeconds(seconds).exact;
}

/** An exact ISO speed: `400`, `ISO 400`. */
export function readIso(option: string, text: string): number {
  const iso = fraction(text.replace(/^iso\s*/i, ''));
  if (!(iso >= 1 && iso <= 4_000_000)) refuse(option, 'an ISO speed from 1 to 4000000 such as 100', text);
  return exactIso(iso).exact;
}

export function readEv(option: string, text: string): number {
  const match = /^([+-]?)(.+)$/.exec(text.trim());
  const ev = fraction(match?.[2] ?? '') * (match?.[1] === '-' ? -1 : 1);
  if (!(ev >= -20 && ev <= 30)) refuse(option, 'an exposure value from -20 to 30 such as 12 or 12.3', text);
  return ev;
}

/** Illuminance in lux: `640`, `640 lx`. */
export function readLux(option: string, text: string): number {
  const lux = fraction(text.replace(/\s*(?:lx|lux)$/i, ''));
  if (!(lux >= 0.001 && lux <= 1_000_000)) refuse(option, 'an illuminance from 0.001 to 1000000 lux such as 640', text);
  return lux;
}

/** An incident meter's constant in lx s, in the bounds of ISO 2720:1974. */
export function readMeterConstant(option: string, text: string): number {
  const constant = fraction(text);
  if (!(constant >= 240 && constant <= 540)) refuse(option, 'a meter constant from 240 to 540 such as 250', text);
  return constant;
}

/** A share of full power: `1/4`, `0.25`, `25%`, `full`, `1/4+1/3` (a quarter and a third of a stop more). */
export function readPower(option: string, text: string): number {
  const expected = 'a power up to full such as 1/4, 25%, full or 1/4+1/3 (a third of a stop more)';
  const [base, more, ...rest] = text.trim().split('+');
  const share = base?.endsWith('%') ? fraction(base.slice(0, -1)) / 100 : base === 'full' ? 1 : fraction(base ?? '');
  const extra = more === undefined ? 0 : fraction(more);
  const power = share * 2 ** extra;
  if (!(rest.length === 0 && extra >= 0 && extra < 1 && power >= 1 / 65536 && power <= 1 + 1e-9))
    refuse(option, expected, text);
  return power;
}

const METRES: Record<string, number> = { m: 1, cm: 0.01, ft: METRES_PER_FOOT, in: METRES_PER_FOOT / 12 };

/** A length in metres: `2`, `2m`, `60cm`, `5ft`, `5ft6in`, `18in`. `sign` allows a minus before it. */
export function readLength(option: string, text: string, sign: 'positive' | 'signed' = 'positive'): number {
  const expected = `a length${sign === 'signed' ? '' : ' above 0'} and up to 1000 m such as 2, 60cm, 5ft or 5ft6in`;
  const match = /^(-?)(?:([\d./]+)\s*ft\s*([\d./]+)\s*in|([\d./]+)\s*(m|cm|ft|in)?)$/i.exec(text.trim());
  if (match === null) refuse(option, expected, text);
  const [, minus, feet, inches, number, unit] = match;
  const size =
    feet !== undefined && inches !== undefined
      ? (fraction(feet) + fraction(inches) / 12) * METRES_PER_FOOT
      : fraction(number ?? '') * (METRES[(unit ?? 'm').toLowerCase()] ?? Number.NaN);
  const length = minus === '-' ? -size : size;
  if (!(Math.abs(length) <= 1000 && (sign === 'signed' || length > 0))) refuse(option, expected, text);
  return length;
}

/** `0.6x0.9`, `60x90cm`, `2ftx3ft`: width and height in metres; one unit at the end stands for both. */
export function readPanel(option: string, text: string): { width: number; height: number } {
  const [width, height, ...rest] = text.trim().split(/\s*[x×]\s*/i);
  if (width === undefined || height === undefined || rest.length > 0)
    refuse(option, 'width x height such as 0.6x0.9 or 2x3ft', text);
  const unit = /[a-z]/i.test(width) ? '' : (/(?:m|cm|ft|in)$/i.exec(height)?.[0] ?? '');
  return { width: readLength(option, width + unit), height: readLength(option, height) };
}

/** Lengths with commas between them. */
export function readLengths(option: string, text: string): number[] {
  return text.split(',').map((one) => readLength(option, one, 'signed'));
}

/** `3:1` or `3`. */
export function readRatio(option: string, text: string): number {
  const match = /^([\d.]+)(?:\s*:\s*([\d.]+))?$/.exec(text.trim());
  const ratio = fraction(match?.[1] ?? '') / fraction(match?.[2] ?? '1');
  if (!(ratio > 0 && ratio <= 4096)) refuse(option, 'a ratio such as 3:1', text);
  return ratio;
}

/** A guide number with its unit: `32m`, `105ft`. The unit has to be told: the same flash has either. */
export function readGuideNumber(option: string, text: string): number {
  const match = /^(?:gn\s*)?([\d.]+)\s*(m|ft)$/i.exec(text.trim());
  const number = fraction(match?.[1] ?? '') * (METRES[(match?.[2] ?? '').toLowerCase()] ?? Number.NaN);
  if (!(number > 0 && number <= 10_000)) refuse(option, 'a guide number with its unit such as 32m or 105ft', text);
  return number;
}

/** Whether a length was written in feet or inches, so that the answer is told in feet too. */
export const inFeet = (...texts: (string | undefined)[]): boolean =>
  texts.some((text) => text !== undefined && /\d\s*(?:ft|in)\b/i.test(text));
