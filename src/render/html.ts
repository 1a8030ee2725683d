import { createHash } from 'node:crypto';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import { Anchors } from './html/anchors.js';
import { renderFrames } from './html/frames.js';
import { renderMethod } from './html/method.js';
import { SafeHtml, markup } from './html/safe.js';
import { renderSetups } from './html/setups.js';
import { renderStrip } from './html/strip.js';
import { REPORT_SCRIPT } from './html/script.js';
import { REPORT_STYLE } from './html/style.js';
import { VERDICT_WORDS } from './words.js';

export interface ReportExtras {
  /** Frame name -> `data:image/...;base64,` of a small preview. Anything else than such a URI is left out. */
  previewDataUris?: ReadonlyMap<string, string>;
  /** Frame name -> the preview with its regions outlined, as a data URI. */
  overlayDataUris?: ReadonlyMap<string, string>;
  /** Frame name -> the preview beside itself with the corrections applied, as a data URI. */
  beforeAfterDataUris?: ReadonlyMap<string, string>;
  /**
   * Frame name -> path of a picture on the server that sends the page, fetched when the frame is opened (before and
   * after) or comes into view (previews). Only for pages that are sent: a page on disk has no server.
   */
  beforeAfterPaths?: ReadonlyMap<string, string>;
  previewPaths?: ReadonlyMap<string, string>;
  /** Why pictures are missing, where they are; said above the frames. */
  picturesNote?: string;
  /** Frame name -> the whole measurement, for the histogram, the fall-off and the camera's names. */
  measurements?: ReadonlyMap<string, FrameMeasurement>;
}

/** Whole elements: not a space may come between the tag and what is hashed. */
const SCRIPT_ELEMENT = new SafeHtml(`<script>${REPORT_SCRIPT}</script>`);
const STYLE_ELEMENT = new SafeHtml(`<style>${REPORT_STYLE}</style>`);
const scriptHash = createHash('sha256').update(REPORT_SCRIPT).digest('base64');

/**
 * The policy that the page needs and no more: its own script by hash, inline style, data: pictures, no network but for
 * pictures of its own server where it has such. It stands in the page itself; a server sends the same header.
 */
export function reportContentSecurityPolicy(extras: ReportExtras = {}): string {
  const ownServer = (extras.beforeAfterPaths?.size ?? 0) + (extras.previewPaths?.size ?? 0) > 0 ? " 'self'" : '';
  return `default-src 'none'; script-src 'sha256-${scriptHash}'; style-src 'unsafe-inline'; img-src data:${ownServer}; base-uri 'none'; form-action 'none'`;
}

function renderAnswer(report: ShootReport): SafeHtml {
  const s = report.summary;
  const parts = (['consistent', 'check', 'off', 'unreadable'] as const).filter((verdict) => s[verdict] > 0);
  const findings = s.findings.slice(0, 3);
  const things = ['', 'The thing to fix', 'The two things to fix', 'The three things to fix'][findings.length] ?? '';
  return markup`<section class="answer" aria-labelledby="answer-title">
    <div>
      <h2 id="answer-title">The answer</h2>
      <p class="big">${s.consistent} of ${s.frames} frames are consistent</p>
      <div class="share-bar" aria-hidden="true">
        ${parts.map((verdict) => markup`<span class="p-${verdict}" style="flex-grow:${s[verdict]}"></span>`)}
      </div>
      <ul class="tally">
        ${parts.map((verdict) => markup`<li>${s[verdict]} ${VERDICT_WORDS[verdict]}</li>`)}
      </ul>
    </div>
    <div>
      ${
        findings.length === 0
          ? markup`<h2>Nothing to fix</h2>
              <p>No frame stands outside its tolerance.</p>`
          : markup`<h2>${things}</h2>
              <ol class="fix">
                ${findings.map((finding) => markup`<li>${finding}</li>`)}
              </ol>`
      }
    </div>
  </section>`;
}

const joined = (...maps: (ReadonlyMap<string, string> | undefined)[]): ReadonlyMap<string, string> =>
  new Map(maps.flatMap((map) => [...(map ?? [])]));

/**
 * The report as one self-contained page: no network, opens from disk, light and dark by preference, prints. All text
 * from file names, Exif and plans is escaped.
 */
export function renderReportHtml(report: ShootReport, extras: ReportExtras = {}): string {
  const anchors = new Anchors(report);
  const pictures = {
    previews: joined(extras.previewPaths, extras.previewDataUris),
    overlays: extras.overlayDataUris ?? new Map<string, string>(),
    beforeAfter: joined(extras.beforeAfterPaths, extras.beforeAfterDataUris),
    measurements: extras.measurements ?? new Map<string, FrameMeasurement>(),
    note: extras.picturesNote ?? null,
  };
  return markup`<!doctype html>
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta http-equiv="Content-Security-Policy" content="${reportContentSecurityPolicy(extras)}" />
        <meta name="viewport" content="width=device-width, initial-scale=1" />
        <meta name="referrer" content="no-referrer" />
        <title>${report.shoot.name}: ${report.summary.consistent} of ${report.summary.frames} frames consistent</title>
        <link rel="icon" href="data:," />
        ${STYLE_ELEMENT}
      </head>
      <body>
        <a class="skip" href="#main">To the answer</a>
        <header>
          <h1>${report.shoot.name}</h1>
          <nav aria-label="Sections">
            <ul>
              <li><a href="#strip">The shoot</a></li>
              <li><a href="#setups">Set-ups</a></li>
              <li><a href="#frames">Frames</a></li>
              <li><a href="#method">Method and limits</a></li>
            </ul>
          </nav>
        </header>
        <main id="main">
          ${renderAnswer(report)}
          <section id="strip" aria-labelledby="strip-title">
            <h2 id="strip-title">The shoot, frame by frame</h2>
            ${renderStrip(report, anchors)}
          </section>
          <section id="setups" aria-labelledby="setups-title">
            <h2 id="setups-title">Set-ups</h2>
            ${renderSetups(report, anchors, pictures.measurements)}
          </section>
          <section id="frames" aria-labelledby="frames-title">
            <h2 id="frames-title">Frames</h2>
            ${renderFrames(report, anchors, pictures)}
          </section>
          <section id="method" aria-labelledby="method-title">
            <h2 id="method-title">Method and limits</h2>
            ${renderMethod(report)}
          </section>
        </main>
        <footer>Written by stopledger.</footer>
        ${SCRIPT_ELEMENT}
      </body>
    </html> `.text;
}
