import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { CorrectedFrame, ReportFrame, ShootReport } from '../../contracts/report.js';
import { FLAG_WORDS, VERDICT_MARKS, VERDICT_ORDER, VERDICT_WORDS, flagsWorstFirst } from '../words.js';
import { correctedFrames } from '../corrected-frames.js';
import { correctionWords } from '../correction-words.js';
import type { Anchors } from './anchors.js';
import { cameraFacts, levelFacts, correctionsList } from './frame-facts.js';
import { renderFallOff, renderLevelHistogram } from './frame-plots.js';
import { headlineOf } from './headline.js';
import { mainPerson } from './main-person.js';
import { type SafeHtml, markup } from './safe.js';

/** What a frame shows, by frame name. A picture is a data URI or an address on the page's own server. */
export interface FramePictures {
  previews: ReadonlyMap<string, string>;
  overlays: ReadonlyMap<string, string>;
  beforeAfter: ReadonlyMap<string, string>;
  measurements: ReadonlyMap<string, FrameMeasurement>;
  /** Why pictures are missing, or null. */
  note: string | null;
}

/** Past so many frames only those that are flagged get their plots, so that the page stays light. */
const PLOTS_FOR_ALL_UP_TO = 400;

/** Only embedded pictures and paths of the server that sent the page; anything else is left out. */
const pictureSource = (source: string | undefined): string | undefined =>
  source !== undefined && /^(data:image\/(jpeg|png|webp);base64,[A-Za-z0-9+/=]+|\/(?!\/)[\w./%~!'()*-]+)$/.test(source)
    ? source
    : undefined;

const sentences = (flags: ReportFrame['flags']): SafeHtml =>
  markup`<ul class="because">
    ${flags.map((flag) => markup`<li><strong>${asSentence(FLAG_WORDS[flag.code])}</strong> ${flag.because}</li>`)}
  </ul>`;

/** The worst flag in full, the others by name: what a contact sheet has room for. */
function inShort([worst, ...others]: ReportFrame['flags']): SafeHtml | null {
  if (worst === undefined) return null;
  return markup`<div class="short">
    ${sentences([worst])}
    ${others.length === 0 ? null : markup`<p class="also">Also: ${others.map(({ code }) => FLAG_WORDS[code]).join(', ')}.</p>`}
  </div>`;
}

function outlinedPreview(name: string, overlay: string | undefined): SafeHtml | null {
  if (overlay === undefined) return null;
  return markup`<figure>
    <img src="${overlay}" alt="${name} with faces, lower bodies and clipped areas outlined" loading="lazy" />
    <figcaption>Dashes: face. Dash and dot: lower body. Dotted: clipped. Levels in stops from mid-grey.</figcaption>
  </figure>`;
}

function beforeAndAfter(frame: CorrectedFrame, picture: string | undefined): SafeHtml | null {
  if (picture === undefined) return null;
  return markup`<figure class="before-after">
    <img src="${picture}" alt="${frame.name} as it is, and beside it with ${correctionWords(frame)}" loading="lazy" />
    <figcaption>Left as it is, right with ${correctionWords(frame)}; approximate, to judge it by eye.</figcaption>
  </figure>`;
}

function worthKnowing(notes: ReportFrame['flags'], measurement: FrameMeasurement | undefined): SafeHtml | null {
  const person = measurement === undefined ? undefined : mainPerson(measurement);
  const others = [...(person?.limits ?? []), ...(measurement?.notes ?? [])];
  if (notes.length + others.length === 0) return null;
  return markup`<div>
    <h4>Worth knowing</h4>
    <ul class="because">
      ${notes.map((flag) => markup`<li><strong>${asSentence(FLAG_WORDS[flag.code])}</strong> ${flag.because}</li>`)}
      ${others.map((text) => markup`<li>${asSentence(text)}</li>`)}
    </ul>
  </div>`;
}

const asSentence = (text: string): string =>
  `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;

function renderFrame(report: ShootReport, frame: CorrectedFrame, anchors: Anchors, pictures: FramePictures): SafeHtml {
  const id = anchors.frame(frame.name);
  const flags = flagsWorstFirst(frame);
  const serious = flags.filter((flag) => flag.severity !== 'note');
  const notes = flags.filter((flag) => flag.severity === 'note');
  const preview = pictureSource(pictures.previews.get(frame.name));
  const overlay = pictureSource(pictures.overlays.get(frame.name));
  const measurement = pictures.measurements.get(frame.name);
  const withPlots =
    measurement !== undefined && (report.frames.length <= PLOTS_FOR_ALL_UP_TO || frame.verdict !== 'consistent');
  const size = measurement?.source;
  const headline = headlineOf(frame);
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
      ${
        headline === null
          ? null
          : markup`<span class="number">${headline.value} <span class="unit">${headline.unit}${headline.of === null ? null : ` ${headline.of}`}</span></span>`
      }
    </p>
    ${inShort(serious)}
    <details>
      <summary>
        <span class="when-shut">Open</span><span class="when-open">Close</span
        ><span class="unseen"> ${frame.name}</span>
      </summary>
      <div class="opened">
        ${outlinedPreview(frame.name, overlay)}
        <div class="advice">
          ${serious.length === 0 ? null : markup`<h4>Why</h4>${sentences(serious)}`}
          ${correctionsList(frame)}
          ${beforeAndAfter(frame, pictureSource(pictures.beforeAfter.get(frame.name)))}
          ${worthKnowing(notes, measurement)}
        </div>
        <div class="numbers">
          ${levelFacts(frame, measurement)} ${cameraFacts(frame, measurement)}
          ${withPlots ? markup`${renderLevelHistogram(measurement)}${renderFallOff(measurement)}` : null}
        </div>
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
    <p class="hint">
      The number is the frame’s level against its own set-up, in stops of light, unless it says otherwise. Open a frame
      for its reasons, corrections and measurements.
    </p>
    ${pictures.note === null ? null : markup`<p class="pictures-note">${pictures.note}</p>`}
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
      <button type="reset">Show all</button>
      <span id="shown" role="status"></span>
    </form>
    <ol class="sheet">
      ${correctedFrames(report).map((frame) => renderFrame(report, frame, anchors, pictures))}
    </ol>
  `;
}
