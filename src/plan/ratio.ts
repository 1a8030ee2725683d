import type { RatioArithmetic } from '../contracts/plan-arithmetic.js';
import { StopledgerError } from '../errors.js';
import {
  additiveFromSourceRatio,
  highlightToShadowStops,
  sourceFromAdditiveRatio,
} from '../photometry/lighting-ratio.js';
import { ratioFromStops, stopsFromRatio } from '../photometry/stops.js';
import { planCautions } from './cautions.js';
import { fNumberSetting, lightBetween, lightTurn } from './settings.js';

export interface RatioQuestion {
  /** Each light metered alone, exact f-numbers. */
  keyExactFNumber: number | null;
  fillExactFNumber: number | null;
  /** Lit and shadow side of the subject metered with all lights on. */
  litExactFNumber: number | null;
  shadowExactFNumber: number | null;
  wanted: { ratio: number; definition: 'additive' | 'source' } | null;
  light: 'flash' | 'continuous' | null;
}

/**
 * Lighting ratio by both definitions, from two lights metered alone, from two areas, or from a wanted ratio (with
 * one reading it gives the other; with both, how far to turn the fill).
 *
 * @throws bad-usage for readings that do not make one of these questions.
 */
export function planRatio(question: RatioQuestion): RatioArithmetic {
  const { keyExactFNumber: key, fillExactFNumber: fill, litExactFNumber: lit, shadowExactFNumber: shadow } = question;
  if (lit !== null || shadow !== null) {
    if (lit === null || shadow === null || key !== null || fill !== null || question.wanted !== null)
      throw new StopledgerError('bad-usage', 'plan ratio: --lit and --shadow go together, and with nothing else');
    return ofAreas(lit, shadow);
  }
  if (question.wanted !== null) return ofWanted(question, question.wanted);
  if (key !== null && fill !== null) {
    const source = ratioFromStops(lightBetween(fill, key));
    return answer('lights', additiveFromSourceRatio(source), key, fill, null, []);
  }
  throw new StopledgerError(
    'bad-usage',
    'plan ratio: --key with --fill, --lit with --shadow, or --ratio with --definition expected',
  );
}

function ofAreas(lit: number, shadow: number): RatioArithmetic {
  const ratio = ratioFromStops(lightBetween(shadow, lit));
  if (ratio < 1)
    throw new StopledgerError(
      'bad-usage',
      'plan ratio: --lit has to read at least as much light as --shadow; received less. Are they the wrong way round?',
    );
  return { ...answer('areas', ratio, null, null, null, []), litSide: fNumberSetting(lit) };
}

function ofWanted(
  question: RatioQuestion,
  wanted: { ratio: number; definition: 'additive' | 'source' },
): RatioArithmetic {
  const { keyExactFNumber: key, fillExactFNumber: fill } = question;
  const least = wanted.definition === 'additive' ? 1 : 0;
  if (!(wanted.ratio > least))
    throw new StopledgerError(
      'bad-usage',
      `plan ratio: --ratio above ${least}:1 expected for the ${wanted.definition} definition; received ${wanted.ratio}:1`,
    );
  const source = wanted.definition === 'source' ? wanted.ratio : sourceFromAdditiveRatio(wanted.ratio);
  const keyPerFill = Math.sqrt(source);
  const additive = additiveFromSourceRatio(source);
  if (key === null) return answer('wanted', additive, fill === null ? null : fill * keyPerFill, fill, null, []);
  const wantedFill = key / keyPerFill;
  if (fill === null) return answer('wanted', additive, key, wantedFill, null, []);
  const turn = lightTurn(lightBetween(fill, wantedFill));
  const cautions = turn.direction === 'up' ? planCautions({ light: question.light, overhead: false }) : [];
  return answer('wanted', additive, key, wantedFill, turn, cautions);
}

function answer(
  from: RatioArithmetic['from'],
  additiveRatio: number,
  key: number | null,
  fill: number | null,
  turnFill: RatioArithmetic['turnFill'],
  cautions: string[],
): RatioArithmetic {
  const sourceRatio = sourceFromAdditiveRatio(additiveRatio);
  return {
    kind: 'ratio',
    from,
    additiveRatio,
    sourceRatio,
    highlightToShadowStops: highlightToShadowStops(additiveRatio),
    keyOverFillStops: sourceRatio > 0 ? stopsFromRatio(sourceRatio) : null,
    key: key === null ? null : fNumberSetting(key),
    fill: fill === null ? null : fNumberSetting(fill),
    // Light adds: the square of the f-number stands for it.
    litSide: key === null || fill === null ? null : fNumberSetting(Math.hypot(key, fill)),
    turnFill,
    cautions,
  };
}
