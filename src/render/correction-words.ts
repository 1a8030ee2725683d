import type { CorrectedFrame } from '../contracts/report.js';
import { REGION_WORDS, formatStops } from './words.js';

/** `+0.80 stops, +61 mired, lower body +2.49 stops`: all that the corrected half was given, in its order, with no more decimals than differences of colour are known to. */
export function correctionWords(frame: CorrectedFrame): string {
  return frame.corrections
    .flatMap(({ region, stops, mired, duv }) => [
      ...(stops === null ? [] : [`${region === 'frame' ? '' : `${REGION_WORDS[region]} `}${formatStops(stops)} stops`]),
      ...(mired === null || (duv !== null && Math.abs(mired).toFixed(0) === '0')
        ? []
        : [`${mired < 0 ? '−' : '+'}${Math.abs(mired).toFixed(0)} mired`]),
      ...(duv === null ? [] : [`${duv < 0 ? '−' : '+'}${Math.abs(duv).toFixed(3)} Duv`]),
    ])
    .join(', ');
}
