import { createHash } from 'node:crypto';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import { Anchors } from './html/anchors.js';
import { renderFrames } from './html/frames.js';
import { renderMethod } from './html/method.js';
import { SafeHtml, markup } from './html/safe.js';
import { renderSetups } from './html/setups.js';
import { renderStrip } from './html/strip.js';
import { REPORT_SCRIPT, REPORT_STYLE } from './html/style.js';
import { VERDICT_WORDS } from './words.js';

export interface ReportExtras {
  /** Frame name -> `data:image/...;base64,` of a small preview. Anything else than such a URI is left out. */
  previewDataUris?: ReadonlyMap<string, string>;
  /** Frame name -> the preview with its regions outlined, as a data URI. */
  overlayDataUris?: ReadonlyMap<string, string>;
  /** Frame name -> the preview beside itself with the corrections applied, as a data URI. */
  beforeAfterDataUris?: ReadonlyMap<string, string>;
  /** Frame name -> the whole measurement, for the histogram, the fall-off and the camera's names. */
  measurements?: ReadonlyMap<string, FrameMeasurement>;
}

/** Whole elements: not a space may come between the tag and what is hashed. */
const SCRIPT_ELEMENT = new SafeHtml(`<script>${REPORT_SCRIPT}</script>`);
const STYLE_ELEMENT = new SafeHtml(`<style>${REPORT_STYLE}</style>`);
const scriptHash = createHash('sha256').update(REPORT_SCRIPT).digest('base64');

/**
 * The policy that the page needs and no more: its own script by hash, inline style, data: pictures, no network.
 * It stands in the page itself; a server that sends the page sends the same header.
 */
export const REPORT_CONTENT_SECURITY_POLICY = `default-src 'none'; script-src 'sha256-${scriptHash}'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'`;

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

/**
 * The report as one self-contained page: no network, opens from disk, light and dark by preference, prints. All text
 * from file names, Exif and plans is escaped.
 */
export function renderReportHtml(report: ShootReport, extras: ReportExtras = {}): string {
  const anchors = new Anchors(report);
  const pictures = {
    previewDataUris: extras.previewDataUris ?? new Map<string, string>(),
    overlayDataUris: extras.overlayDataUris ?? new Map<string, string>(),
    beforeAfterDataUris: extras.beforeAfterDataUris ?? new Map<string, string>(),
    measurements: extras.measurements ?? new Map<string, FrameMeasurement>(),
  };
  return markup`<!doctype html>
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta http-equiv="Content-Security-Policy" content="${REPORT_CONTENT_SECURITY_POLICY}" />
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
              <li><a href="#strip">Shoot strip</a></li>
              <li><a href="#setups">Set-ups</a></li>
              <li><a href="#frames">Frames</a></li>
              <li><a href="#method">Method and limits</a></li>
            </ul>
          </nav>
        </header>
        <main id="main">
          ${renderAnswer(report)}
          <section id="strip" aria-label="Shoot strip">${renderStrip(report, anchors)}</section>
          <section id="setups" aria-labelledby="setups-title">
            <h2 id="setups-title">Set-ups</h2>
            ${renderSetups(report, anchors)}
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
