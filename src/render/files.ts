import { access, constants, mkdir, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { FrameProducts } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import { correctedFrames } from './corrected-frames.js';
import { type AdviceSource, type MaskKind, maskedLifts, wantsBeforeAfter } from './advice-files.js';
import { renderFramesCsv } from './csv.js';
import { SafeFileNames } from './file-names.js';
import { renderReportHtml } from './html.js';
import { renderOverlay } from './overlay.js';
import { collectReportExtras } from './report-pictures.js';
import { writeWhole } from './write-whole.js';

/** What `finish` writes besides the report. */
export interface FolderExtras {
  /** Makes the before-and-after pictures, and the masks; without it there are none. */
  advice?: AdviceSource;
  masks?: MaskKind | null;
}

/**
 * A folder with everything about a shoot: report.json, frames.csv, report.html, measurements/<frame>.json,
 * previews/<frame>.jpg and overlays/<frame>.jpg; before-after/<frame>.jpg of frames to correct, and when asked for
 * masks/<frame>.<region>.png. Frames are put in as they are measured, so that their pictures need
 * not be kept in memory; `finish` writes the report. Files of an earlier run under the same names are replaced.
 */
export class ReportFolder {
  readonly #dir: string;
  readonly #fileNames: SafeFileNames;
  readonly #measurements = new Map<string, FrameMeasurement>();
  readonly #previews = new Set<string>();
  /** Region codes, a few kilobytes each: what masks are made of. */
  readonly #regions = new Map<string, Uint8Array>();

  private constructor(dir: string, fileNames: SafeFileNames) {
    this.#dir = dir;
    this.#fileNames = fileNames;
  }

  /** Makes the folder and its parts. Throws `bad-usage` when it cannot be made or written. */
  static async create(dir: string, frameNames: readonly string[]): Promise<ReportFolder> {
    try {
      for (const part of ['measurements', 'previews', 'overlays']) await mkdir(join(dir, part), { recursive: true });
      // Found out now, not after everything is measured.
      for (const part of ['.', 'measurements', 'previews', 'overlays']) await access(join(dir, part), constants.W_OK);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      throw new StopledgerError('bad-usage', `output folder "${dir}" cannot be made or written: ${reason}`, {
        cause: error,
      });
    }
    return new ReportFolder(dir, new SafeFileNames(frameNames));
  }

  /** Tells of a frame that was not known when the folder was made. */
  announce(frameName: string): void {
    this.#fileNames.add(frameName);
  }

  /** Takes a frame's measurement and pictures away: its file is there no more. */
  async drop(frameName: string): Promise<void> {
    const file = this.#fileName(frameName);
    this.#measurements.delete(frameName);
    this.#regions.delete(frameName);
    this.#previews.delete(frameName);
    await rm(join(this.#dir, 'measurements', `${file}.json`), { force: true });
    for (const pictures of ['previews', 'overlays', 'before-after'])
      await rm(join(this.#dir, pictures, `${file}.jpg`), { force: true });
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

  async putFrame(
    frameName: string,
    measurement: FrameMeasurement,
    { previewJpeg, regionsPng }: { previewJpeg: Uint8Array | null; regionsPng?: Uint8Array },
  ): Promise<void> {
    const file = this.#fileName(frameName);
    this.#measurements.set(frameName, measurement);
    if (regionsPng !== undefined) this.#regions.set(frameName, regionsPng);
    await writeWhole(join(this.#dir, 'measurements', `${file}.json`), `${JSON.stringify(measurement, null, 1)}\n`);
    if (previewJpeg === null) return;
    await writeWhole(join(this.#dir, 'previews', `${file}.jpg`), previewJpeg);
    await writeWhole(join(this.#dir, 'overlays', `${file}.jpg`), await renderOverlay(previewJpeg, measurement));
    this.#previews.add(frameName);
  }

  #preview(frameName: string): Promise<Buffer> {
    return readFile(join(this.#dir, 'previews', `${this.#fileName(frameName)}.jpg`));
  }

  /** What was put in of a frame. Throws `frame-not-found` where something is missing. */
  async frame(frameName: string): Promise<{ measurement: FrameMeasurement; products: FrameProducts }> {
    const measurement = this.#measurements.get(frameName);
    const regionsPng = this.#regions.get(frameName);
    if (measurement === undefined || regionsPng === undefined) {
      throw new StopledgerError('frame-not-found', `nothing of frame "${frameName}" was put into the output folder`);
    }
    return { measurement, products: { previewJpeg: await this.#preview(frameName), regionsPng } };
  }

  async #writeAdvice(report: ShootReport, { advice, masks }: FolderExtras): Promise<Map<string, Uint8Array>> {
    const pictures = new Map<string, Uint8Array>();
    if (advice === undefined) return pictures;
    for (const frame of correctedFrames(report)) {
      const file = this.#fileName(frame.name);
      if (wantsBeforeAfter(frame) && this.#previews.has(frame.name)) {
        const picture = await advice.beforeAfter(frame);
        if (picture !== null) {
          await mkdir(join(this.#dir, 'before-after'), { recursive: true });
          await writeWhole(join(this.#dir, 'before-after', `${file}.jpg`), picture);
          pictures.set(frame.name, picture);
        }
      }
      if (masks === undefined || masks === null) continue;
      await mkdir(join(this.#dir, 'masks'), { recursive: true });
      for (const lift of maskedLifts(frame)) {
        const path = join(this.#dir, 'masks', `${file}.${lift.region}.${masks.format}`);
        await writeWhole(path, await advice.mask(frame, lift, masks));
      }
    }
    return pictures;
  }

  /** The report with links to the folder's own measurements. */
  #linked(report: ShootReport): ShootReport {
    return {
      ...report,
      frames: report.frames.map((frame) => ({
        ...frame,
        measurement: this.#measurements.has(frame.name) ? this.measurementHref(frame.name) : null,
      })),
    };
  }

  /** Writes report.json and frames.csv, the files for scripts, each as a whole. Returns that report. */
  async writeData(report: ShootReport): Promise<ShootReport> {
    const local = this.#linked(report);
    await writeWhole(join(this.#dir, 'report.json'), `${JSON.stringify(local, null, 2)}\n`);
    await writeWhole(join(this.#dir, 'frames.csv'), renderFramesCsv(local));
    return local;
  }

  /** Writes report.json, frames.csv and report.html, each as a whole; links to measurements become the folder's own. Returns that report. */
  async finish(report: ShootReport, extra: FolderExtras = {}): Promise<ShootReport> {
    const local = this.#linked(report);
    const beforeAfter = await this.#writeAdvice(local, extra);
    const extras = await collectReportExtras(local, {
      preview: async (name) => (this.#previews.has(name) ? this.#preview(name) : null),
      measurement: async (name) => this.#measurements.get(name) ?? null,
      beforeAfter: (name) => beforeAfter.get(name) ?? null,
    });
    await this.writeData(report);
    await writeWhole(join(this.#dir, 'report.html'), renderReportHtml(local, extras));
    return local;
  }
}
