import sharp from 'sharp';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import type { ReportExtras } from './html.js';
import { renderOverlay } from './overlay.js';

export interface PictureSource {
  /** The frame's preview JPEG, or null where there is none. */
  preview(name: string): Promise<Uint8Array | null>;
  measurement(name: string): Promise<FrameMeasurement | null>;
  /** The preview beside itself with the corrections applied, or null where there is none. */
  beforeAfter(name: string): Uint8Array | null;
}

const ALL_OVERLAYS_UP_TO = 120;

/** Long edge of previews in the page, in pixels: smaller for many frames, so that the page stays a few tens of MB. */
const previewLongEdgePx = (frames: number): number => (frames <= 150 ? 480 : frames <= 600 ? 320 : 200);
const OVERLAY_LONG_EDGE_PX = 800;
/** Of both halves together, and on how many frames at most: the page stays some megabytes larger at most. */
const BEFORE_AFTER_LONG_EDGE_PX = 960;
const MOST_BEFORE_AFTER = 80;

async function asDataUri(jpeg: Uint8Array, longEdgePx: number): Promise<string> {
  const small = await sharp(jpeg)
    .resize({ width: longEdgePx, height: longEdgePx, fit: 'inside', withoutEnlargement: true })
    .jpeg({ quality: 68 })
    .toBuffer();
  return `data:image/jpeg;base64,${small.toString('base64')}`;
}

/**
 * The pictures and measurements that the report page shows: a small preview of every frame, and the outlined preview
 * of flagged and typical frames (of all when there are at most 120), and before and after of the first 80 to correct. A picture that cannot be made is left out.
 */
export async function collectReportExtras(report: ShootReport, source: PictureSource): Promise<ReportExtras> {
  const previewDataUris = new Map<string, string>();
  const overlayDataUris = new Map<string, string>();
  const beforeAfterDataUris = new Map<string, string>();
  const measurements = new Map<string, FrameMeasurement>();
  const typical = new Set(report.setups.map((setup) => setup.representativeFrame));
  const longEdgePx = previewLongEdgePx(report.frames.length);
  for (const frame of report.frames) {
    const [preview, measurement] = await Promise.all([source.preview(frame.name), source.measurement(frame.name)]);
    if (measurement !== null) measurements.set(frame.name, measurement);
    const beforeAfter = source.beforeAfter(frame.name);
    if (beforeAfter !== null && beforeAfterDataUris.size < MOST_BEFORE_AFTER) {
      beforeAfterDataUris.set(frame.name, await asDataUri(beforeAfter, BEFORE_AFTER_LONG_EDGE_PX));
    }
    if (preview === null) continue;
    previewDataUris.set(frame.name, await asDataUri(preview, longEdgePx));
    const wanted =
      report.frames.length <= ALL_OVERLAYS_UP_TO || frame.verdict !== 'consistent' || typical.has(frame.name);
    if (wanted && measurement !== null) {
      overlayDataUris.set(frame.name, await asDataUri(await renderOverlay(preview, measurement), OVERLAY_LONG_EDGE_PX));
    }
  }
  return { previewDataUris, overlayDataUris, beforeAfterDataUris, measurements };
}
