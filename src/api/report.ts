import { createHash } from 'node:crypto';
import type { RequestHandler, Router } from 'express';
import { renderFramesCsv } from '../render/csv.js';
import { REPORT_CONTENT_SECURITY_POLICY, renderReportHtml } from '../render/html.js';
import type { AppDeps } from './deps.js';
import { overlayOf } from './overlays.js';
import { type Judged, measurementsOf } from './reports.js';
import { answeredNotModified, negotiated, resource } from './resource.js';
import { settledReport } from './settled-report.js';

const TYPES = ['application/json', 'text/html', 'text/csv'] as const;

/** More pictures than this are not put into one page: it would be too large to open. */
const MOST_PICTURES = 600;

/**
 * The report of every frame received so far, once none of them is still waiting: 409 `report-not-ready` until then,
 * held back by `?wait=`. A shoot that is not complete can be reported, too; the report then covers what is there.
 */
export function reportRoutes(router: Router, deps: AppDeps): void {
  const getReport: RequestHandler = async (request, response) => {
    const type = negotiated(request, response, TYPES);
    const judged = await settledReport(deps, request, response);
    const tag = createHash('sha256').update(`${judged.report.shoot.id} ${judged.version} ${type}`).digest('hex');
    response.set('Cache-Control', 'private, no-cache');
    if (answeredNotModified(request, response, tag.slice(0, 32))) return;
    if (type === 'application/json') response.json(judged.report);
    else if (type === 'text/csv') {
      response
        .set('Content-Disposition', 'inline; filename="frames.csv"')
        .type('text/csv; charset=utf-8; header=present');
      response.send(renderFramesCsv(judged.report));
    } else {
      response.set('Content-Security-Policy', REPORT_CONTENT_SECURITY_POLICY).type('text/html; charset=utf-8');
      response.send(await reportPage(deps, judged));
    }
  };

  resource(router, '/v1/shoots/:id/report', { get: getReport });
}

const dataUri = (jpeg: Buffer): string => `data:image/jpeg;base64,${jpeg.toString('base64')}`;

async function reportPage(deps: AppDeps, { report, sha256s }: Judged): Promise<string> {
  const shootId = report.shoot.id;
  const measurements = await measurementsOf(deps.store, shootId);
  const previewDataUris = new Map<string, string>();
  const overlayDataUris = new Map<string, string>();
  if (sha256s.size <= MOST_PICTURES) {
    for (const [name, sha256] of sha256s) {
      const preview = await deps.files.getProduct(shootId, sha256, 'previewJpeg');
      if (preview === null) continue;
      previewDataUris.set(name, dataUri(preview));
      const measurement = measurements.get(name);
      if (measurement !== undefined) {
        overlayDataUris.set(name, dataUri(await overlayOf(shootId, sha256, preview, measurement)));
      }
    }
  }
  return renderReportHtml(report, { previewDataUris, overlayDataUris, measurements });
}
