import type { LookComparison } from '../contracts/look.js';
import type { Person } from '../contracts/people.js';
import type { Correction } from '../contracts/correction.js';
import type { Deviation, ReportFrame, ReportPerson } from '../contracts/report.js';
import { appearanceDistance } from './appearance.js';
import { correctionsOf } from './corrections/corrections.js';
import { shownFlags } from './finished.js';
import { flagsOf, verdictOf } from './flags.js';
import type { JudgedFrameInput } from './input.js';
import { difference, rounded, type Unknown } from './known.js';
import { fromPlanStops } from './plan-settings.js';
import { fromReadingStops } from './plan/reading.js';
import { totalOf, type FrameContext } from './setup-state.js';

/** Frames whose appearance differs by less are one sitter, also across set-ups. */
const SAME_SITTER_DISTANCE = 1.5;

/** A frame of the report, and what corrects it, which stands beside the frames there. */
export interface JudgedFrame {
  frame: ReportFrame;
  corrections: Correction[];
}

/** @param look how the frame's set-up stands to the plan's saved look; null without one */
export function reportFrame(
  context: FrameContext,
  reference: FrameContext | null,
  look: LookComparison | null,
): JudgedFrame {
  const { frame, light, setup, plan, planned, lightKind } = context;
  const { input, measurement, name } = frame.facts;
  const all = flagsOf(context);
  const flags = plan.finished === true ? shownFlags(all, setup) : all;
  const total = totalOf(context);
  const { clipping, exposure } = measurement;
  const fromReferenceStops = fromReference(context, reference);
  const fromReferenceMired = reference?.setup === setup ? difference(context.cast.mired, reference.cast.mired) : null;
  const deviation: Deviation = {
    fromSetupStops: rounded(total.levelStops),
    ofWhichSettingsStops: light.levelStops === null || !light.settingsKnown ? null : rounded(total.settingsStops),
    ofWhichLightStops: light.levelStops === null || !light.settingsKnown ? null : rounded(total.lightStops),
    fromPlanStops: rounded(
      plan.target === undefined && planned !== null
        ? fromReadingStops(frame.facts, planned, lightKind.shutterWeight)
        : fromPlanStops(frame.facts, plan.target, lightKind.shutterWeight),
    ),
    fromReferenceStops: rounded(fromReferenceStops),
  };
  const { corrections, lifts } = correctionsOf(context, { fromReferenceStops, fromReferenceMired, look });
  const reported: ReportFrame = {
    name,
    setup: setup.id,
    capturedAt: exposure.capturedAt?.iso ?? null,
    verdict: verdictOf(flags),
    flags,
    deviation,
    toBaselineStops: rounded(total.levelStops === null ? null : -total.levelStops),
    lifts,
    people: measurement.people.map(reportPerson),
    clipping: {
      highlightsShare: clipping.highlights.anyChannelShare,
      largestHighlightAreaShare: clipping.highlights.largestAreaShare,
      facesShare: clipping.highlights.inFacesShare,
      blacksShare: clipping.blacks.allChannelsShare,
    },
    exposure: {
      fNumber: exposure.fNumber,
      exposureTimeSeconds: exposure.exposureTimeSeconds,
      iso: exposure.iso,
      ev100: exposure.ev100,
      flashFired: exposure.flash?.fired ?? null,
    },
    toneResponse: measurement.toneResponse,
    measurement: input.measurementHref,
  };
  return { frame: reported, corrections };
}

/** A frame that could not be measured keeps its place in the report, with the reason. */
export function unreadableFrame({ name, failure, measurementHref }: JudgedFrameInput): JudgedFrame {
  const frame: ReportFrame = {
    name,
    setup: null,
    capturedAt: null,
    verdict: 'unreadable',
    flags: [
      {
        code: 'unreadable',
        severity: 'fault',
        because: failure === null ? 'The frame was not measured.' : `${failure.message} (${failure.code})`,
      },
    ],
    deviation: {
      fromSetupStops: null,
      ofWhichSettingsStops: null,
      ofWhichLightStops: null,
      fromPlanStops: null,
      fromReferenceStops: null,
    },
    toBaselineStops: null,
    lifts: [],
    people: [],
    clipping: null,
    exposure: null,
    toneResponse: null,
    measurement: measurementHref,
  };
  return { frame, corrections: [] };
}

function reportPerson(person: Person): ReportPerson {
  return {
    faceLevelStops: person.face?.levelStops ?? null,
    lowerBodyLevelStops: person.lowerBody?.levelStops ?? null,
    faceToLowerBodyStops: person.faceToLowerBodyStops,
    faceToLowerBodyLightStops: person.faceToLowerBodyLightStops,
    faceToLowerBodyLightUncertaintyStops: person.faceToLowerBodyLightUncertaintyStops,
    basis: person.basis,
    sideToSideStops: person.face?.sideToSideStops ?? null,
    confidence: person.confidence,
  };
}

/**
 * Against the reference frame: inside one set-up from both deviations; in another set-up only for the same
 * sitter, by the subject's level; else it cannot be said.
 */
function fromReference(context: FrameContext, reference: FrameContext | null): Unknown {
  if (reference === null || reference.setup.track !== context.setup.track) return null;
  if (reference.setup.id === context.setup.id) {
    const { levelStops } = context.light;
    return levelStops === null || reference.light.levelStops === null ? null : levelStops - reference.light.levelStops;
  }
  if (context.plan.compareSitters === false) return null;
  const [now, then] = [context.frame.facts, reference.frame.facts];
  const distance = appearanceDistance(now.appearance, then.appearance);
  if (distance === null || distance > SAME_SITTER_DISTANCE || now.levels.face === null || then.levels.face === null)
    return null;
  return now.levels.face - then.levels.face;
}
