import type { RequestHandler, Router } from 'express';
import { renderFramesCsv } from '../render/csv.js';
import { type ReportExtras, renderReportHtml, reportContentSecurityPolicy } from '../render/html.js';
import { wantsBeforeAfter } from '../render/advice-files.js';
import { correctedFrames } from '../render/corrected-frames.js';
import type { AppDeps } from './deps.js';
import { overlayOf } from './overlays.js';
import { frameHref } from './requests.js';
import { type Judged, measurementsOf } from './reports.js';
import { answeredNotModified, negotiated, resource } from './resource.js';
import { settledReport } from './settled-report.js';

const TYPES = ['application/json', 'text/html', 'text/csv'] as const;

/** More pictures than this are not put into one page: it would be too large to open. */
const MOST_PICTURES = 600;
const NO_PICTURES = `This page holds no pictures: the shoot has more than ${MOST_PICTURES} frames, and pictures fetched later would need the token again. A page with all of them is written by “stopledger send … --out FOLDER”.`;

/**
 * The report of every frame received so far, once none of them is still waiting: 409 `report-not-ready` until then,
 * held back by `?wait=`. A shoot that is not complete can be reported, too; the report then covers what is there.
 */
export function reportRoutes(router: Router, deps: AppDeps): void {
  const getReport: RequestHandler = async (request, response) => {
    const type = negotiated(request, response, TYPES);
    const judged = await settledReport(deps, request, response);
    const byPath = request.get('Authorization') === undefined;
    const madeOf = `${judged.report.shoot.id} ${judged.version} ${type} ${byPath}`;
    if (answeredNotModified(request, response, madeOf)) return;
    if (type === 'application/json') response.json(judged.report);
    else if (type === 'text/csv') {
      response
        .set('Content-Disposition', 'inline; filename="frames.csv"')
        .type('text/csv; charset=utf-8; header=present');
      response.send(renderFramesCsv(judged.report));
    } else {
      const extras = await reportPictures(deps, judged, byPath);
      // Who may frame a page can be said in the header only.
      const policy = `${reportContentSecurityPolicy(extras)}; frame-ancestors 'none'`;
      response.set('Content-Security-Policy', policy).type('text/html; charset=utf-8');
      response.send(renderReportHtml(judged.report, extras));
    }
  };

  resource(router, '/v1/shoots/:id/report', { get: getReport });
}

const dataUri = (jpeg: Buffer): string => `data:image/jpeg;base64,${jpeg.toString('base64')}`;

/**
 * The page's pictures. Before and after costs up to a second of CPU a frame, so the page asks for it when the frame is
 * opened, and so it does for the previews of a large shoot; unless a token is needed, which a page's pictures cannot send.
 */
async function reportPictures(deps: AppDeps, { report, sha256s }: Judged, byPath: boolean): Promise<ReportExtras> {
  const shootId = report.shoot.id;
  const measurements = await measurementsOf(deps.store, shootId);
  const previewDataUris = new Map<string, string>();
  const overlayDataUris = new Map<string, string>();
  const previewPaths = new Map<string, string>();
  const beforeAfterPaths = new Map<string, string>();
  if (byPath) {
    for (const frame of correctedFrames(report)) {
      if (wantsBeforeAfter(frame) && sha256s.has(frame.name)) beforeAfterPaths.set(frame.name, `${frameHref(shootId, frame.name)}/before-after`); // prettier-ignore
    }
  }
  if (sha256s.size > MOST_PICTURES) {
    if (!byPath) return { picturesNote: NO_PICTURES, measurements };
    for (const name of sha256s.keys()) previewPaths.set(name, `${frameHref(shootId, name)}/preview`);
    return { previewPaths, beforeAfterPaths, measurements };
  }
  for (const [name, sha256] of sha256s) {
    const preview = await deps.files.getProduct(shootId, sha256, 'previewJpeg');
    if (preview === null) continue;
    previewDataUris.set(name, dataUri(preview));
    const measurement = measurements.get(name);
    if (measurement !== undefined) {
      overlayDataUris.set(name, dataUri(await overlayOf(shootId, sha256, preview, measurement)));
    }
  }
  return { previewDataUris, overlayDataUris, beforeAfterPaths, measurements };
}
