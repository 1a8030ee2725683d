import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import { renderFramesCsv } from './csv.js';
import { safeFileNames } from './file-names.js';
import { renderReportHtml } from './html.js';
import { renderOverlay } from './overlay.js';
import { collectReportExtras } from './report-pictures.js';

/**
 * A folder with everything about a shoot: report.json, frames.csv, report.html, measurements/<frame>.json,
 * previews/<frame>.jpg and overlays/<frame>.jpg. Frames are put in as they are measured, so that their pictures need
 * not be kept in memory; `finish` writes the report. Files of an earlier run under the same names are replaced.
 */
export class ReportFolder {
  readonly #dir: string;
  readonly #fileNames: ReadonlyMap<string, string>;
  readonly #measurements = new Map<string, FrameMeasurement>();
  readonly #previews = new Set<string>();

  private constructor(dir: string, fileNames: ReadonlyMap<string, string>) {
    this.#dir = dir;
    this.#fileNames = fileNames;
  }

  /** Makes the folder and its parts. Throws `bad-usage` when it cannot be made or written. */
  static async create(dir: string, frameNames: readonly string[]): Promise<ReportFolder> {
    try {
      for (const part of ['measurements', 'previews', 'overlays']) await mkdir(join(dir, part), { recursive: true });
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      throw new StopledgerError('bad-usage', `output folder "${dir}" cannot be made: ${reason}`, { cause: error });
    }
    return new ReportFolder(dir, safeFileNames(frameNames));
  }

  #fileName(frameName: string): string {
    const name = this.#fileNames.get(frameName);
    if (name === undefined)
      throw new StopledgerError('frame-not-found', `frame "${frameName}" was not announced to the output folder`);
    return name;
  }

  /** Where the whole measurement stands, relative to the folder. */
  measurementHref(frameName: string): string {
    return `measurements/${encodeURIComponent(this.#fileName(frameName))}.json`;
  }

  async putFrame(frameName: string, measurement: FrameMeasurement, previewJpeg: Uint8Array | null): Promise<void> {
    const file = this.#fileName(frameName);
    this.#measurements.set(frameName, measurement);
    await writeFile(join(this.#dir, 'measurements', `${file}.json`), `${JSON.stringify(measurement, null, 1)}\n`);
    if (previewJpeg === null) return;
    await writeFile(join(this.#dir, 'previews', `${file}.jpg`), previewJpeg);
    await writeFile(join(this.#dir, 'overlays', `${file}.jpg`), await renderOverlay(previewJpeg, measurement));
    this.#previews.add(frameName);
  }

  /** Writes report.json, frames.csv and report.html; links to measurements become the folder's own. Returns that report. */
  async finish(report: ShootReport): Promise<ShootReport> {
    const local: ShootReport = {
      ...report,
      frames: report.frames.map((frame) => ({
        ...frame,
        measurement: this.#measurements.has(frame.name) ? this.measurementHref(frame.name) : null,
      })),
    };
    const extras = await collectReportExtras(local, {
      preview: async (name) =>
        this.#previews.has(name) ? readFile(join(this.#dir, 'previews', `${this.#fileName(name)}.jpg`)) : null,
      measurement: async (name) => this.#measurements.get(name) ?? null,
    });
    await writeFile(join(this.#dir, 'report.json'), `${JSON.stringify(local, null, 2)}\n`);
    await writeFile(join(this.#dir, 'frames.csv'), renderFramesCsv(local));
    await writeFile(join(this.#dir, 'report.html'), renderReportHtml(local, extras));
    return local;
  }
}
