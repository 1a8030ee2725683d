import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { CorrectedFrame, ShootReport } from '../../contracts/report.js';
import { FLAG_WORDS, VERDICT_MARKS, VERDICT_ORDER, VERDICT_WORDS, flagsWorstFirst, formatStops } from '../words.js';
import { correctedFrames } from '../corrected-frames.js';
import { correctionWords } from '../correction-words.js';
import type { Anchors } from './anchors.js';
import { cameraFacts, levelFacts, correctionsList } from './frame-facts.js';
import { renderFallOff, renderLevelHistogram } from './frame-plots.js';
import { type SafeHtml, markup } from './safe.js';

export interface FramePictures {
  previewDataUris: ReadonlyMap<string, string>;
  overlayDataUris: ReadonlyMap<string, string>;
  beforeAfterDataUris: ReadonlyMap<string, string>;
  measurements: ReadonlyMap<string, FrameMeasurement>;
}

/** Past so many frames only those that are flagged get their plots, so that the page stays light. */
const PLOTS_FOR_ALL_UP_TO = 400;

const dataUri = (uri: string | undefined): string | undefined =>
  uri !== undefined && /^data:image\/(jpeg|png|webp);base64,[A-Za-z0-9+/=]+$/.test(uri) ? uri : undefined;

function renderFrame(report: ShootReport, frame: CorrectedFrame, anchors: Anchors, pictures: FramePictures): SafeHtml {
  const id = anchors.frame(frame.name);
  const flags = flagsWorstFirst(frame);
  const serious = flags.filter((flag) => flag.severity !== 'note');
  const notes = flags.filter((flag) => flag.severity === 'note');
  const preview = dataUri(pictures.previewDataUris.get(frame.name));
  const overlay = dataUri(pictures.overlayDataUris.get(frame.name));
  const beforeAfter = dataUri(pictures.beforeAfterDataUris.get(frame.name));
  const measurement = pictures.measurements.get(frame.name);
  const withPlots =
    measurement !== undefined && (report.frames.length <= PLOTS_FOR_ALL_UP_TO || frame.verdict !== 'consistent');
  const size = measurement?.source;
  return markup`<li
    class="frame v-${frame.verdict}"
    id="${id}"
    data-setup="${frame.setup ?? ''}"
    data-verdict="${frame.verdict}"
    data-flags="${flags.map((flag) => flag.code).join(' ')}"
  >
    ${
      preview === undefined
        ? markup`<div class="picture none">no preview</div>`
        : markup`<img
            class="picture${overlay === undefined ? null : ' has-overlay'}"
            src="${preview}"
            alt="Preview of ${frame.name}"
            loading="lazy"
            ${size === undefined ? null : markup` width="${size.widthPx}" height="${size.heightPx}"`}
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
        : markup`<ul class="because">
            ${serious.map((flag) => markup`<li><strong>${FLAG_WORDS[flag.code]}</strong>. ${flag.because}</li>`)}
          </ul>`
    }
    <details>
      <summary>Numbers<span class="unseen"> of ${frame.name}</span></summary>
      <div class="opened">
        ${
          overlay === undefined
            ? null
            : markup`<figure>
                <img
                  src="${overlay}"
                  alt="${frame.name} with face, lower body and the largest clipped area outlined"
                  loading="lazy"
                />
                <figcaption>Dashes: face. Dash and dot: lower body. Hatched: largest clipped area.</figcaption>
              </figure>`
        }
        ${
          beforeAfter === undefined
            ? null
            : markup`<figure>
                <img
                  src="${beforeAfter}"
                  alt="${frame.name} as it is, and beside it with ${correctionWords(frame)}"
                  loading="lazy"
                />
                <figcaption>As it is, and with the corrections below: small and approximate, to judge them by eye.</figcaption>
              </figure>`
        }
        <div>${levelFacts(frame)}</div>
        <div>${cameraFacts(frame, measurement)}</div>
        ${
          notes.length === 0
            ? null
            : markup`<div>
                <h4>Worth knowing</h4>
                <ul class="because">
                  ${notes.map((flag) => markup`<li><strong>${FLAG_WORDS[flag.code]}</strong>. ${flag.because}</li>`)}
                </ul>
              </div>`
        }
        ${correctionsList(frame)}
        ${withPlots ? markup`<div>${renderLevelHistogram(measurement)}${renderFallOff(measurement)}</div>` : null}
      </div>
      ${frame.setup === null ? null : markup`<p><a href="#${anchors.setup(frame.setup)}">Set-up ${frame.setup}</a></p>`}
    </details>
  </li>`;
}

function options(entries: readonly (readonly [value: string, words: string])[]): SafeHtml {
  return markup`<option value="">all</option>
    ${entries.map(([value, words]) => markup`<option value="${value}">${words}</option>`)}`;
}

export function renderFrames(report: ShootReport, anchors: Anchors, pictures: FramePictures): SafeHtml {
  const codes = [...new Set(report.frames.flatMap((frame) => frame.flags.map((flag) => flag.code)))];
  const verdicts = VERDICT_ORDER.filter((verdict) => report.summary[verdict] > 0);
  return markup`
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
      ${correctedFrames(report).map((frame) => renderFrame(report, frame, anchors, pictures))}
    </ol>
  `;
}
