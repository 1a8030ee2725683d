import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { CorrectedFrame } from '../../contracts/report.js';
import { REGION_WORDS, faceToLegs, formatSettings, formatShare, formatStops } from '../words.js';
import { factsTable, keepTogether } from './facts.js';
import { mainPerson } from './main-person.js';
import { type SafeHtml, markup } from './safe.js';

const BASIS_WORDS = { skin: 'skin', mixed: 'skin and cloth', clothing: 'cloth only' } as const;

/** `2026-05-16 10:46:18.66, UTC+01:00` of an ISO 8601 time; other texts stay as they are. */
const capturedWords = (time: string | null): string | null => {
  const parts = /^(\d{4}-\d\d-\d\d)T([\d:.]+)(Z|[+-][\d:]+)?$/.exec(time ?? '');
  if (parts === null) return time;
  const [, day, clock, zone] = parts;
  return `${day} ${clock}${zone === undefined ? '' : zone === 'Z' ? ', UTC' : `, UTC${zone.replace('-', '−')}`}`;
};

/** Where the frame stands in stops, and its main person. */
export function levelFacts(frame: CorrectedFrame, measurement: FrameMeasurement | undefined): SafeHtml {
  const d = frame.deviation;
  const person = frame.people[0];
  const atLeast = measurement !== undefined && mainPerson(measurement)?.face?.levelIsAtLeast === true;
  const legs = faceToLegs(frame);
  const optional = (stops: number | null | undefined) =>
    stops === null || stops === undefined ? null : formatStops(stops);
  return markup`
    ${factsTable('Level', [
      ['From its set-up', optional(d.fromSetupStops), 'stops'],
      ['— of it by settings', optional(d.ofWhichSettingsStops), 'stops'],
      ['— of it by light', optional(d.ofWhichLightStops), 'stops'],
      ['From the plan', optional(d.fromPlanStops), 'stops'],
      ['From the reference frame', optional(d.fromReferenceStops), 'stops'],
      ['Add to match the set-up', optional(frame.toBaselineStops), 'stops'],
      [
        'One stop of difference is known to',
        frame.toneResponse === null ? null : `±${frame.toneResponse.uncertaintyStops.toFixed(2)}`,
        'stops',
      ],
    ])}
    ${
      person === undefined
        ? null
        : factsTable(frame.people.length > 1 ? `Main person of ${frame.people.length}` : 'Person', [
            [
              'Face over mid-grey',
              person.faceLevelStops === null
                ? null
                : `${atLeast ? 'at least ' : ''}${formatStops(person.faceLevelStops)}`,
              'stops',
            ],
            ['Lower body over mid-grey, with cloth', optional(person.lowerBodyLevelStops), 'stops'],
            ['Face over lower body, brightness', optional(person.faceToLowerBodyStops), 'stops'],
            [
              'Face over lower body, light',
              legs.basis === 'skin'
                ? `${formatStops(legs.stops)}${legs.uncertaintyStops === null ? '' : ` ± ${legs.uncertaintyStops.toFixed(2)}`}`
                : null,
              'stops',
            ],
            ['The lower body showed', person.basis === null ? null : BASIS_WORDS[person.basis]],
            ['Bright over dark side of the face', optional(person.sideToSideStops), 'stops'],
            ['Sure of the regions', person.confidence.toFixed(2), 'of 1'],
          ])
    }
  `;
}

/** Clipping and what the camera wrote. */
export function cameraFacts(frame: CorrectedFrame, measurement: FrameMeasurement | undefined): SafeHtml {
  const clipping = frame.clipping;
  const exposure = measurement?.exposure;
  return markup`
    ${factsTable('Clipping', [
      ['At the top, any channel', clipping === null ? null : formatShare(clipping.highlightsShare)],
      ['— largest area of it', clipping === null ? null : formatShare(clipping.largestHighlightAreaShare)],
      ['— inside faces', clipping === null || clipping.facesShare === null ? null : formatShare(clipping.facesShare)],
      ['At the bottom', clipping === null ? null : formatShare(clipping.blacksShare)],
    ])}
    ${factsTable('Exposure data', [
      ['Settings', frame.exposure === null ? null : keepTogether(formatSettings(frame.exposure))],
      [
        'Camera exposure',
        frame.exposure?.ev100 === null || frame.exposure === null ? null : frame.exposure.ev100.toFixed(2),
        'EV, ISO 100',
      ],
      [
        'Flash',
        frame.exposure === null || frame.exposure.flashFired === null
          ? null
          : frame.exposure.flashFired
            ? 'fired'
            : 'did not fire, says the camera',
      ],
      ['Captured', capturedWords(frame.capturedAt)],
      ['Camera', exposure?.cameraModel ?? null],
      ['Lens', exposure?.lensModel ?? null],
      [
        'Size',
        measurement === undefined ? null : `${measurement.source.widthPx} × ${measurement.source.heightPx}`,
        'px',
      ],
      ['Tone response', frame.toneResponse === null ? null : frame.toneResponse.source],
      [
        'File',
        measurement === undefined
          ? null
          : `${measurement.source.format}, ${measurement.source.bitDepth} bits, ${measurement.source.profile.description ?? 'no profile'}`,
      ],
    ])}
  `;
}

/** What to do to the frame, in the order in which to do it; null when there is nothing. */
export function correctionsList(frame: CorrectedFrame): SafeHtml | null {
  if (frame.corrections.length === 0) return null;
  return markup`<div>
    <h4>What to do, in this order, in linear light</h4>
    <ol>
      ${frame.corrections.map(
        ({ step, region, stops, mired, limitedBy, because }) =>
          markup`<li>${step === 'cast' ? `colour: ${mired === null || mired < 0 ? '−' : '+'}${Math.abs(mired ?? 0).toFixed(0)} mired` : `${REGION_WORDS[region]}: ${formatStops(stops)} stops`}${limitedBy === null ? null : `, limited by ${limitedBy}`}. ${because}</li>`,
      )}
    </ol>
  </div>`;
}
