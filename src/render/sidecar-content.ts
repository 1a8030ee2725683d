import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Correction } from '../contracts/correction.js';
import type { Flag, Lift, CorrectedFrame, ReportPerson } from '../contracts/report.js';
import { imageRegions } from './sidecar-regions.js';
import { xmpReal, type XmpField, type XmpValue } from './sidecar-xml.js';
import { FLAG_WORDS, VERDICT_WORDS } from './words.js';

/** Our keywords begin so, and no others: a later run takes them away and leaves all others alone. */
export const OWN_KEYWORD = 'stopledger: ';

/** What a sidecar says of a frame. */
export interface SidecarContent {
  /** For dc:subject. */
  keywords: readonly string[];
  /** Properties of our own namespace. */
  properties: readonly XmpField[];
  /** Items for Iptc4xmpExt:ImageRegion. */
  regions: readonly XmpValue[];
}

type Plain = string | number | null | undefined;

function own(name: string, value: XmpValue): XmpField {
  return { prefix: 'stopledger', name, value };
}

/** Fields of what is known; nothing stands for what is not. */
function known(facts: Readonly<Record<string, Plain>>): XmpField[] {
  return Object.entries(facts).flatMap(([name, value]) =>
    value === null || value === undefined ? [] : [own(name, typeof value === 'number' ? xmpReal(value) : value)],
  );
}

const structureOf = (facts: Readonly<Record<string, Plain>>): XmpValue => ({ kind: 'structure', fields: known(facts) });
const array = (name: string, kind: 'bag' | 'seq', items: readonly XmpValue[]): XmpField[] =>
  items.length === 0 ? [] : [own(name, { kind, items })];

const flagOf = ({ code, severity, stops, region, because }: Flag): XmpValue =>
  structureOf({ code, severity, stops, region, because });
const liftOf = ({ region, stops, limitedBy, because }: Lift): XmpValue =>
  structureOf({ region, stops, limitedBy, because });
const correctionOf = (correction: Correction): XmpValue => structureOf({ ...correction });
const personOf = (person: ReportPerson): XmpValue => structureOf({ ...person });

function keywordsOf(frame: CorrectedFrame): string[] {
  const faults = frame.flags.filter((flag) => flag.severity !== 'note').map((flag) => FLAG_WORDS[flag.code]);
  return [...new Set([VERDICT_WORDS[frame.verdict], ...faults])].map((words) => `${OWN_KEYWORD}${words}`);
}

/**
 * Verdict and flags as keywords, the numbers under their names of report.json (which end in their units), and the
 * regions. `measurement` null: the frame could not be measured.
 */
export function sidecarContent(frame: CorrectedFrame, measurement: FrameMeasurement | null): SidecarContent {
  const { clipping, toneResponse } = frame;
  return {
    keywords: keywordsOf(frame),
    properties: [
      ...known({ schemaVersion: 1, verdict: frame.verdict, setup: frame.setup }),
      ...array('flags', 'seq', frame.flags.map(flagOf)),
      ...known({ ...frame.deviation, toBaselineStops: frame.toBaselineStops }),
      ...array('corrections', 'seq', frame.corrections.map(correctionOf)),
      ...array('lifts', 'seq', frame.lifts.map(liftOf)),
      ...array('people', 'seq', frame.people.map(personOf)),
      ...known({
        highlightsClippedShare: clipping?.highlightsShare,
        largestHighlightAreaShare: clipping?.largestHighlightAreaShare,
        facesClippedShare: clipping?.facesShare,
        blacksClippedShare: clipping?.blacksShare,
        toneResponseSource: toneResponse?.source,
        toneUncertaintyStops: toneResponse?.uncertaintyStops,
        measuringVersion: measurement?.measuringVersion,
        frameSha256: measurement?.source.sha256,
      }),
    ],
    regions: measurement === null ? [] : imageRegions(measurement),
  };
}
