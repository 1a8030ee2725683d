import { once } from 'node:events';
import { realpath } from 'node:fs/promises';
import { basename, join, relative, resolve, sep } from 'node:path';
import { MeasuringOptions } from '../../contracts/options.js';
import type { ShootReport } from '../../contracts/report.js';
import type { WatchEvent } from '../../contracts/watch.js';
import { StopledgerError, asStopledgerError } from '../../errors.js';
import { localAdvice } from '../../render/advice-files.js';
import { ReportFolder } from '../../render/files.js';
import { defaultCalibrationFile, readCalibrations } from '../../store/calibration-file.js';
import { poolFromEnvironment } from '../measure-here.js';
import { type PlanFlags, readPlanBeforeFrames } from '../plan-options.js';
import { type OutputFlags, exitStatusOf } from '../present.js';
import { createProgress } from '../progress.js';
import type { CommandContext, ExitStatus } from '../terminal.js';
import { folderIdentity, watchFolder } from './folder-watcher.js';
import { FrameIntake, type TakenFrame } from './frame-intake.js';
import { KeptMeasurements, defaultStateFolder, forgetKept } from './kept-measurements.js';
import { LiveReport } from './live-report.js';
import { Teller } from './teller.js';
import { WatchedShoot } from './watched-shoot.js';

export interface WatchFlags extends PlanFlags, OutputFlags {
  recursive: boolean;
  bell: boolean;
  poll?: boolean;
  calibrations?: string;
  state?: string;
  forget?: boolean;
  patience?: string;
}

/** A frame that is measured when the command is stopped gets so long to end. */
const STOP_DEADLINE_MS = 10_000;
const PATIENCE_SECONDS = 5;

/** Seconds of `--patience`. Throws `bad-usage` for anything but a number from 1 to 3600. */
export function parsePatience(text: string | undefined): number {
  if (text === undefined) return PATIENCE_SECONDS;
  const seconds = /^\d+(\.\d+)?$/.test(text) ? Number(text) : NaN;
  if (seconds >= 1 && seconds <= 3600) return seconds;
  throw new StopledgerError('bad-usage', `--patience: seconds from 1 to 3600 expected, received "${text}"`);
}

/** The folder where measurements are kept: asked for, or inside the output folder, or the user's own for this DIR. */
function stateFolderOf(folder: string, flags: WatchFlags, context: CommandContext): string {
  if (flags.state !== undefined) return resolve(flags.state);
  if (flags.out !== undefined) return join(resolve(flags.out), 'watch-state');
  return defaultStateFolder(context.env, folder);
}

async function forget(stateFolder: string, context: CommandContext): Promise<ExitStatus> {
  const there = await forgetKept(stateFolder);
  context.stdout.write(there ? `deleted: ${stateFolder}\n` : `nothing is kept in ${stateFolder}\n`);
  return 0;
}

/**
 * `stopledger watch`: judges each new frame of a folder as it lands, until it is stopped. The report is written at
 * the end and while it goes on, and measurements are kept, so that the next start goes on from here.
 */
export async function watch(dir: string, flags: WatchFlags, context: CommandContext): Promise<ExitStatus> {
  const folder = await realpath(dir).catch(() => resolve(dir));
  const stateFolder = stateFolderOf(folder, flags, context);
  if (flags.forget === true) return forget(stateFolder, context);
  await folderIdentity(folder);
  const patienceMs = parsePatience(flags.patience) * 1000;
  const plan = await readPlanBeforeFrames(flags);
  const options = MeasuringOptions.parse({
    toneResponse: plan.toneResponse,
    calibrations: await readCalibrations(flags.calibrations ?? defaultCalibrationFile(context.env)),
  });
  const report = flags.out === undefined ? null : await ReportFolder.create(flags.out, []);
  const kept = await KeptMeasurements.open(stateFolder, options, report !== null);
  const pool = poolFromEnvironment(context.env);
  pool.warm();
  const progress = createProgress(context.stderr, flags.quiet === true || flags.json === true);
  const teller = new Teller(flags, context, progress);
  const shoot = new WatchedShoot(basename(folder), plan);
  const live = report === null ? null : new LiveReport(report, (error) => { teller.warn(`the report could not be written: ${error.message}`); }); // prettier-ignore

  let lookedUp = false;
  let known = 0;
  let judgingSoon = false;
  const judge = (): void => {
    judgingSoon = false;
    const events = shoot.judge();
    if (known > 0 && shoot.report !== null) events.unshift(resumed(known, shoot.report));
    known = 0;
    teller.tell(events);
    if (events.length > 0 && shoot.report !== null) live?.update(shoot.report);
  };
  const judgeSoon = (): void => {
    if (judgingSoon || !lookedUp) return;
    judgingSoon = true;
    setImmediate(judge);
  };
  const pictures: Set<Promise<void>> = new Set();
  const putPictures = (name: string, { measurement, products }: TakenFrame): void => {
    if (report === null) return;
    // Also of one that cannot be read: it stands in the report.
    report.announce(name);
    if (measurement === null || products === null) return;
    const put = report
      .putFrame(name, measurement, products)
      .catch((error: unknown) => {
        teller.warn(`${name}: its pictures could not be written: ${asStopledgerError(error).message}`);
      })
      .finally(() => pictures.delete(put));
    pictures.add(put);
  };

  const intake = new FrameIntake(
    { pool, kept, options, patienceMs },
    {
      onFrame(frame) {
        const name = shoot.nameOf(frame.path, relative(folder, frame.path).split(sep).join('/'));
        putPictures(name, frame);
        const { measurement, failure } = frame;
        const measurementHref = measurement === null ? null : (report?.measurementHref(name) ?? null);
        shoot.put(frame.path, { name, measurement, failure, measurementHref }, frame.known);
        if (frame.known) known += 1;
        judgeSoon();
      },
      onGone(path) {
        const name = shoot.remove(path);
        if (name !== null) void report?.drop(name).catch(() => undefined);
        judgeSoon();
      },
      onLookedUp() {
        lookedUp = true;
        judgeSoon();
      },
      onProgress(done, total) {
        if (total - done > 1) progress.show('measuring', done, total);
        else progress.clear();
      },
      onNotKept(error) {
        teller.warn(`measurements cannot be kept in ${stateFolder}: ${error.message}`);
      },
    },
  );

  teller.begin({ event: 'start', folder, keptIn: stateFolder });
  const lost = new AbortController();
  const except = [stateFolder, ...(flags.out === undefined ? [] : [resolve(flags.out)])];
  const watcher = await watchFolder(
    { folder, recursive: flags.recursive, poll: flags.poll === true, except },
    {
      onSeen: (path) => { intake.seen(path); },
      onGone: (path) => { intake.gone(path); },
      onReady: () => { intake.ready(); },
      onLost: (error) => { lost.abort(error); },
    }, // prettier-ignore
  );
  try {
    const stop = AbortSignal.any([
      context.signal,
      lost.signal,
      ...(context.unread === undefined ? [] : [context.unread]),
    ]);
    if (!stop.aborted) await once(stop, 'abort');
    await watcher.close();
    await intake.stop(STOP_DEADLINE_MS);
    lookedUp = true;
    judge();
    progress.clear();
    await Promise.all(pictures);
    await live?.close();
    let final = shoot.report;
    let unwritten: StopledgerError | null = null;
    if (final !== null && report !== null) {
      const advice = localAdvice((name) => report.frame(name), options.calibrations);
      try {
        final = await report.finish(final, { advice, masks: null });
      } catch (error) {
        unwritten = asStopledgerError(error);
      }
    }
    if (!lost.signal.aborted) await kept.tidy(intake.paths);
    if (!shoot.referenceIsThere) teller.warn(`--reference "${plan.referenceFrame ?? ''}": no frame of this name came`);
    teller.end(reasonOf(stop.reason), final, unwritten === null);
    if (lost.signal.aborted) throw lost.signal.reason;
    if (unwritten !== null) throw unwritten;
    return final === null ? 0 : exitStatusOf(final);
  } finally {
    progress.clear();
    await watcher.close();
    await pool.close();
  }
}

function resumed(frames: number, { summary, setups }: ShootReport): WatchEvent {
  return { event: 'resumed', frames, flagged: summary.frames - summary.consistent, setups: setups.length };
}

const reasonOf = (reason: unknown): string => asStopledgerError(reason).message;
