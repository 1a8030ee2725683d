import { MeasuringOptions } from '../contracts/options.js';
import { StopledgerError } from '../errors.js';
import type { MeasuringPool } from '../queue/measuring-pool.js';
import { localAdvice } from '../render/advice-files.js';
import { ReportFolder } from '../render/files.js';
import type { JudgedFrameInput } from '../shoot/input.js';
import { judgeShoot } from '../shoot/judge.js';
import { defaultCalibrationFile, readCalibrations } from '../store/calibration-file.js';
import { type AdviceFlags, checkAdvice, maskKindOf, writeSidecars } from './advice-options.js';
import { type FoundFrame, describeIgnored } from './find-frames.js';
import { type FrameArgumentFlags, askedFrames } from './frame-arguments.js';
import { poolFromEnvironment } from './measure-here.js';
import { type SaveLookFlags, checkSaveLook, saveLook } from './look-options.js';
import { type PlanFlags, readPlan } from './plan-options.js';
import { exitStatusOf, printReport } from './present.js';
import { type Progress, createProgress } from './progress.js';
import type { CommandContext, ExitStatus } from './terminal.js';

export interface AuditFlags extends PlanFlags, AdviceFlags, SaveLookFlags, FrameArgumentFlags {
  calibrations?: string;
}

interface MeasuringRun {
  pool: MeasuringPool;
  options: MeasuringOptions;
  folder: ReportFolder | null;
  progress: Progress;
  signal: AbortSignal;
}

/** Measures one frame; a frame that cannot be measured stands in the report with its reason. */
async function measureOne(frame: FoundFrame, run: MeasuringRun): Promise<JudgedFrameInput> {
  try {
    const { measurement, products } = await run.pool.measure({
      path: frame.path,
      options: run.options,
      signal: run.signal,
    });
    await run.folder?.putFrame(frame.name, measurement, products);
    return {
      name: frame.name,
      measurement,
      failure: null,
      measurementHref: run.folder?.measurementHref(frame.name) ?? null,
    };
  } catch (error) {
    if (run.signal.aborted || !(error instanceof StopledgerError) || error.code === 'shutting-down') throw error;
    return {
      name: frame.name,
      measurement: null,
      failure: { code: error.code, message: error.message },
      measurementHref: null,
    };
  }
}

async function measureAll(frames: readonly FoundFrame[], run: MeasuringRun): Promise<JudgedFrameInput[]> {
  const measured: JudgedFrameInput[] = new Array<JudgedFrameInput>(frames.length);
  let next = 0;
  let done = 0;
  run.progress.show('measuring', 0, frames.length);
  const takeNext = async (): Promise<void> => {
    for (let i = next++; i < frames.length; i = next++) {
      measured[i] = await measureOne(frames[i] as FoundFrame, run);
      done += 1;
      run.progress.show('measuring', done, frames.length);
    }
  };
  // One more than there are processes, so that none waits while the last frame's pictures are written.
  await Promise.all(Array.from({ length: run.pool.workers + 1 }, takeNext));
  return measured;
}

/** `stopledger audit`: measures and judges files or folders on this machine, without a service. */
export async function audit(paths: readonly string[], flags: AuditFlags, context: CommandContext): Promise<ExitStatus> {
  checkSaveLook(flags);
  checkAdvice(flags);
  const { frames, ignored, shootName } = await askedFrames(paths, flags, context);
  const plan = await readPlan(flags, frames);
  const told = describeIgnored(ignored);
  if (told !== '' && flags.quiet !== true) context.stderr.write(`${told}\n`);
  const progress = createProgress(context.stderr, flags.quiet === true);
  const folder =
    flags.out === undefined
      ? null
      : await ReportFolder.create(
          flags.out,
          frames.map((f) => f.name),
        );
  const pool = poolFromEnvironment(context.env, frames.length);
  try {
    const options = MeasuringOptions.parse({
      toneResponse: plan.toneResponse,
      calibrations: await readCalibrations(flags.calibrations ?? defaultCalibrationFile(context.env)),
    });
    const measured = await measureAll(frames, { pool, options, folder, progress, signal: context.signal });
    const shoot = { id: 'local', name: shootName };
    const judged = judgeShoot({ shoot, plan, frames: measured });
    const report =
      folder === null
        ? judged
        : await folder.finish(judged, {
            advice: localAdvice((name) => folder.frame(name), options.calibrations),
            masks: maskKindOf(flags),
          });
    progress.clear();
    printReport(report, flags, context);
    if (flags.out !== undefined && flags.json !== true) context.stdout.write(`\nReport files are in ${flags.out}\n`);
    await saveLook(report, flags, context);
    const measurements = new Map(measured.map(({ name, measurement }) => [name, measurement]));
    const measurementOf = async (name: string) => measurements.get(name) ?? null;
    const refused = await writeSidecars(report, frames, measurementOf, flags, context);
    return refused > 0 ? 2 : exitStatusOf(report);
  } finally {
    progress.clear();
    await pool.close();
  }
}
