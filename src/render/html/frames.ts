import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { ReportFrame, ShootReport } from '../../contracts/report.js';
import {
  FLAG_WORDS,
  REGION_WORDS,
  VERDICT_MARKS,
  VERDICT_ORDER,
  VERDICT_WORDS,
  faceToLegs,
  flagsWorstFirst,
  formatShare,
  formatSettings,
  formatStops,
} from '../words.js';
import type { Anchors } from './anchors.js';
import { factsTable, keepTogether } from './facts.js';
import { renderFallOff, renderLevelHistogram } from './frame-plots.js';
import { type SafeHtml, html } from './safe.js';

export interface FramePictures {
  previewDataUris: ReadonlyMap<string, string>;
  overlayDataUris: ReadonlyMap<string, string>;
  measurements: ReadonlyMap<string, FrameMeasurement>;
}

/** Past so many frames only those that are flagged get their plots, so that the page stays light. */
const PLOTS_FOR_ALL_UP_TO = 400;

const dataUri = (uri: string | undefined): string | undefined =>
  uri !== undefined && /^data:image\/(jpeg|png|webp);base64,[A-Za-z0-9+/=]+$/.test(uri) ? uri : undefined;

function levelFacts(frame: ReportFrame): SafeHtml {
  const d = frame.deviation;
  const person = frame.people[0];
  const legs = faceToLegs(frame);
  const optional = (stops: number | null | undefined) =>
    stops === null || stops === undefined ? null : formatStops(stops);
  return html`
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

function cameraFacts(frame: ReportFrame, measurement: FrameMeasurement | undefined): SafeHtml {
  const clipping = frame.clipping;
  const exposure = measurement?.exposure;
  return html`
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

function lifts(frame: ReportFrame): SafeHtml | null {
  if (frame.lifts.length === 0) return null;
  return html`<div>
    <h4>Lifts, in this order</h4>
    <ol>
      ${frame.lifts.map((lift) => html`<li>${REGION_WORDS[lift.region]}: ${formatStops(lift.stops)} stops${lift.limitedBy === null ? null : `, limited by ${lift.limitedBy}`}. ${lift.because}</li>`)}
    </ol>
  </div>`;
}

function renderFrame(report: ShootReport, frame: ReportFrame, anchors: Anchors, pictures: FramePictures): SafeHtml {
  const id = anchors.frame(frame.name);
  const flags = flagsWorstFirst(frame);
  const serious = flags.filter((flag) => flag.severity !== 'note');
  const notes = flags.filter((flag) => flag.severity === 'note');
  const preview = dataUri(pictures.previewDataUris.get(frame.name));
  const overlay = dataUri(pictures.overlayDataUris.get(frame.name));
  const measurement = pictures.measurements.get(frame.name);
  const withPlots =
    measurement !== undefined && (report.frames.length <= PLOTS_FOR_ALL_UP_TO || frame.verdict !== 'consistent');
  const size = measurement?.source;
  return html`<li
    class="frame v-${frame.verdict}"
    id="${id}"
    data-setup="${frame.setup ?? ''}"
    data-verdict="${frame.verdict}"
    data-flags="${flags.map((flag) => flag.code).join(' ')}"
  >
    ${
      preview === undefined
        ? html`<div class="picture none">no preview</div>`
        : html`<img
            class="picture"
            src="${preview}"
            alt="Preview of ${frame.name}"
            loading="lazy"
            ${size === undefined ? null : html` width="${size.widthPx}" height="${size.heightPx}"`}
          />`
    }
    <h3>${frame.name}</h3>
    <p class="line">
      <span class="verdict"
        ><span aria-hidden="true">${VERDICT_MARKS[frame.verdict]}</span> ${VERDICT_WORDS[frame.verdict]}</span
      >
      <span class="number"
        >${frame.deviation.fromSetupStops === null ? null : `${formatStops(frame.deviation.fromSetupStops)} stops`}</span
      >
    </p>
    ${
      serious.length === 0
        ? null
        : html`<ul class="because">
            ${serious.map((flag) => html`<li><strong>${FLAG_WORDS[flag.code]}</strong>. ${flag.because}</li>`)}
          </ul>`
    }
    <details>
      <summary>Numbers<span class="unseen"> of ${frame.name}</span></summary>
      <div class="opened">
        ${
          overlay === undefined
            ? null
            : html`<figure>
                <img
                  src="${overlay}"
                  alt="${frame.name} with face, lower body and the largest clipped area outlined"
                  loading="lazy"
                />
                <figcaption>Dashes: face. Dash and dot: lower body. Hatched: largest clipped area.</figcaption>
              </figure>`
        }
        <div>${levelFacts(frame)}</div>
        <div>${cameraFacts(frame, measurement)}</div>
        ${
          notes.length === 0
            ? null
            : html`<div>
                <h4>Worth knowing</h4>
                <ul class="because">
                  ${notes.map((flag) => html`<li><strong>${FLAG_WORDS[flag.code]}</strong>. ${flag.because}</li>`)}
                </ul>
              </div>`
        }
        ${lifts(frame)}
        ${withPlots ? html`<div>${renderLevelHistogram(measurement)}${renderFallOff(measurement)}</div>` : null}
      </div>
      ${frame.setup === null ? null : html`<p><a href="#${anchors.setup(frame.setup)}">Set-up ${frame.setup}</a></p>`}
    </details>
  </li>`;
}

function options(entries: readonly (readonly [value: string, words: string])[]): SafeHtml {
  return html`<option value="">all</option>
    ${entries.map(([value, words]) => html`<option value="${value}">${words}</option>`)}`;
}

export function renderFrames(report: ShootReport, anchors: Anchors, pictures: FramePictures): SafeHtml {
  const codes = [...new Set(report.frames.flatMap((frame) => frame.flags.map((flag) => flag.code)))];
  const verdicts = VERDICT_ORDER.filter((verdict) => report.summary[verdict] > 0);
  return html`
    <form class="filters" hidden>
      <label
        >Set-up
        <select name="setup">
          ${options(report.setups.map((setup) => [setup.id, setup.id] as const))}
        </select></label
      >
      <label
        >Verdict
        <select name="verdict">
          ${options(verdicts.map((verdict) => [verdict, VERDICT_WORDS[verdict]] as const))}
        </select></label
      >
      <label
        >Flag
        <select name="flag">
          ${options(codes.map((code) => [code, FLAG_WORDS[code]] as const))}
        </select></label
      >
      <span id="shown" role="status"></span>
    </form>
    <ol class="sheet">
      ${report.frames.map((frame) => renderFrame(report, frame, anchors, pictures))}
    </ol>
  `;
}
