import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { ReportFrame } from '../../contracts/report.js';
import { REGION_WORDS, faceToLegs, formatSettings, formatShare, formatStops } from '../words.js';
import { factsTable, keepTogether } from './facts.js';
import { type SafeHtml, markup } from './safe.js';

/** Where the frame stands in stops, and its main person. */
export function levelFacts(frame: ReportFrame): SafeHtml {
  const d = frame.deviation;
  const person = frame.people[0];
  const legs = faceToLegs(frame);
  const optional = (stops: number | null | undefined) =>
    stops === null || stops === undefined ? null : formatStops(stops);
  return markup`
    ${factsTable('Level', [
      ['From its set-up', optional(d.fromSetupStops), 'stops'],
      ['of which settings', optional(d.ofWhichSettingsStops), 'stops'],
      ['of which light', optional(d.ofWhichLightStops), 'stops'],
      ['From the plan', optional(d.fromPlanStops), 'stops'],
      ['From the reference frame', optional(d.fromReferenceStops), 'stops'],
      ['Add to match the set-up', optional(frame.toBaselineStops), 'stops'],
      [
        'One stop is known to',
        frame.toneResponse === null ? null : `±${frame.toneResponse.uncertaintyStops.toFixed(2)}`,
        'stops',
      ],
    ])}
    ${
      person === undefined
        ? null
        : factsTable(frame.people.length > 1 ? `Main person of ${frame.people.length}` : 'Person', [
            ['Face level, from mid-grey', optional(person.faceLevelStops), 'stops'],
            ['Lower body level, cloth included', optional(person.lowerBodyLevelStops), 'stops'],
            ['Face over lower body, brightness', optional(person.faceToLowerBodyStops), 'stops'],
            [
              'Face over lower body, light (skin)',
              legs.basis === 'skin'
                ? `${formatStops(legs.stops)}${legs.uncertaintyStops === null ? '' : ` ± ${legs.uncertaintyStops.toFixed(2)}`}`
                : null,
              'stops',
            ],
            ['The lower body showed', person.basis],
            ['Bright side of the face over dark side', optional(person.sideToSideStops), 'stops'],
            ['Confidence', person.confidence.toFixed(2), 'of 1'],
          ])
    }
  `;
}

/** Clipping and what the camera wrote. */
export function cameraFacts(frame: ReportFrame, measurement: FrameMeasurement | undefined): SafeHtml {
  const clipping = frame.clipping;
  const exposure = measurement?.exposure;
  return markup`
    ${factsTable('Clipping', [
      ['Highlights, any channel', clipping === null ? null : formatShare(clipping.highlightsShare)],
      ['Largest clipped area', clipping === null ? null : formatShare(clipping.largestHighlightAreaShare)],
      ['Inside faces', clipping === null || clipping.facesShare === null ? null : formatShare(clipping.facesShare)],
      ['Blacks', clipping === null ? null : formatShare(clipping.blacksShare)],
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
      ['Captured', frame.capturedAt],
      ['Camera', exposure?.cameraModel ?? null],
      ['Lens', exposure?.lensModel ?? null],
      [
        'Size',
        measurement === undefined ? null : `${measurement.source.widthPx} × ${measurement.source.heightPx}`,
        'px',
      ],
      ['Tone response', frame.toneResponse === null ? null : frame.toneResponse.source],
    ])}
  `;
}

/** The lifts in the order in which to do them; null when there are none. */
export function liftsList(frame: ReportFrame): SafeHtml | null {
  if (frame.lifts.length === 0) return null;
  return markup`<div>
    <h4>Lifts, in this order</h4>
    <ol>
      ${frame.lifts.map((lift) => markup`<li>${REGION_WORDS[lift.region]}: ${formatStops(lift.stops)} stops${lift.limitedBy === null ? null : `, limited by ${lift.limitedBy}`}. ${lift.because}</li>`)}
    </ol>
  </div>`;
}
