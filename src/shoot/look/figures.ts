import type { LookFigures, StopsFigure } from '../../contracts/look.js';
import { castOf } from '../baseline.js';
import type { FrameFacts } from '../facts.js';
import { known, medianKnown, rounded, spreadKnown, type Unknown } from '../known.js';
import type { SequenceFrame } from '../sequence.js';

interface Figure {
  median: number;
  spread: number | null;
  frames: number;
}

function figureOf(values: readonly Unknown[], decimals: number): Figure | null {
  const median = rounded(medianKnown(values), decimals);
  if (median === null) return null;
  return { median, spread: rounded(spreadKnown(values), decimals), frames: known(values).length };
}

/** What the frames of one set-up show, all sitters together: medians with robust spreads. */
export function figuresOf(frames: readonly SequenceFrame[]): LookFigures {
  const facts = frames.map((frame) => frame.facts);
  const stops = (read: (fact: FrameFacts) => Unknown): StopsFigure | null => {
    const figure = figureOf(facts.map(read), 4);
    return figure === null ? null : { medianStops: figure.median, spreadStops: figure.spread, frames: figure.frames };
  };
  const mired = figureOf(
    facts.map((fact) => castOf(fact).mired),
    2,
  );
  const duv = figureOf(
    facts.map((fact) => castOf(fact).duv),
    5,
  );
  return {
    subjectLevel: stops((fact) => (fact.basis === 'frame' ? null : fact.subjectLevelStops)),
    backgroundLevel: stops((fact) => fact.backgroundLevelStops),
    personToBackground: stops((fact) => fact.personToBackgroundStops),
    sideToSide: stops((fact) => fact.sideToSideStops),
    faceToLowerBodyLight: stops((fact) => fact.main?.faceToLowerBodyLightStops ?? null),
    castMired: mired === null ? null : { medianMired: mired.median, spreadMired: mired.spread, frames: mired.frames },
    castDuv: duv === null ? null : { medianDuv: duv.median, spreadDuv: duv.spread, frames: duv.frames },
  };
}
