import { thirdStopSteps } from '../photometry/stops.js';

/** Numbers in sentences: one decimal hides a third, two are enough. */
export const stopsText = (stops: number): string =>
  `${Math.abs(stops).toFixed(2)} stop${Math.abs(stops).toFixed(2) === '1.00' ? '' : 's'}`;

export const signedStops = (stops: number): string => `${stops < 0 ? '−' : '+'}${Math.abs(stops).toFixed(2)}`;

export const signedMired = (mired: number): string => `${mired < 0 ? '−' : '+'}${Math.abs(mired).toFixed(0)} mired`;

/** "30 mired warmer and 0.004 Duv greener"; a tint alone where the mired would read as 0. */
export function colourText(mired: number, duv: number | null): string {
  const tint = isSeenTint(duv) ? `${Math.abs(duv).toFixed(3)} Duv ${duv < 0 ? 'pinker' : 'greener'}` : null;
  const size = Math.abs(mired).toFixed(0);
  if (tint !== null && size === '0') return tint;
  return `${size} mired ${mired < 0 ? 'cooler' : 'warmer'}${tint === null ? '' : ` and ${tint}`}`;
}

/** "−30 mired and +0.004 Duv": the same as what to correct by. */
export function signedColour(mired: number, duv: number | null): string {
  const tint = isSeenTint(duv) ? `${duv < 0 ? '−' : '+'}${Math.abs(duv).toFixed(3)} Duv` : null;
  if (tint !== null && Math.abs(mired).toFixed(0) === '0') return tint;
  return `${signedMired(mired)}${tint === null ? '' : ` and ${tint}`}`;
}

const isSeenTint = (duv: number | null): duv is number => duv !== null && Math.abs(duv) >= SEEN_DUV;

/** Less of a tint than this nobody sees. Ours. */
export const SEEN_DUV = 0.002;

export const brighterOrDarker = (stops: number): string => (stops < 0 ? 'darker' : 'brighter');

export const percent = (share: number): string => `${(100 * share).toFixed(share < 0.1 ? 1 : 0)} %`;

/** "+2 third-stop steps": what to turn a light or a setting by; stops where a dial's step is too coarse. */
export function thirdSteps(stops: number): string {
  const steps = thirdStopSteps(stops);
  if (steps === 0) return `${signedStops(stops)} stop (under half a third-stop step)`;
  const sign = steps < 0 ? '−' : '+';
  return `${sign}${Math.abs(steps)} third-stop step${Math.abs(steps) === 1 ? '' : 's'}`;
}

/** "+2 third-stop steps of light restore it", "+1 third-stop step undoes it". */
export function stepsThat(verb: 'undo' | 'restore', stops: number, ofWhat = ''): string {
  const one = Math.abs(thirdStopSteps(stops)) <= 1;
  return `${thirdSteps(stops)}${ofWhat} ${one ? (verb === 'undo' ? 'undoes' : 'restores') : verb} it`;
}

export function settingsText(fNumber: number | null, exposureTimeSeconds: number | null, iso: number | null): string {
  const parts: string[] = [];
  if (fNumber !== null) parts.push(`f/${fNumber}`);
  if (exposureTimeSeconds !== null) parts.push(shutterText(exposureTimeSeconds));
  if (iso !== null) parts.push(`ISO ${iso}`);
  return parts.length === 0 ? 'settings unknown' : parts.join(', ');
}

/** Exif's display rule: fractions under a quarter of a second as 1/n. */
export function shutterText(seconds: number): string {
  return seconds < 0.25001 ? `1/${Math.floor(0.5 + 1 / seconds)} s` : `${Number(seconds.toFixed(1))} s`;
}

export function listNames(names: readonly string[]): string {
  if (names.length <= 4) return names.join(', ');
  return `${names.slice(0, 3).join(', ')} and ${names.length - 3} more`;
}
