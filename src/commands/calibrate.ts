import { mkdir, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { availableParallelism } from 'node:os';
import { MeasuringOptions } from '../contracts/options.js';
import { readConfig } from '../config.js';
import { asStopledgerError } from '../errors.js';
import type { Calibrated } from '../photometry/response-fit/calibrate.js';
import { createMeasuringPool } from '../queue/measuring-pool.js';
import { renderResponsePlot } from '../render/response-plot.js';
import { defaultCalibrationFile, keepCalibrations } from '../store/calibration-file.js';
import { calibrateGroups, calibrationOf, type LeftOut, type NamedSamples } from './calibrate-groups.js';
import { type FrameArgumentFlags, askedFrames } from './frame-arguments.js';
import { createProgress } from './progress.js';
import type { CommandContext, ExitStatus } from './terminal.js';

export interface CalibrateFlags extends FrameArgumentFlags {
  into?: string;
  dryRun?: boolean;
}

/**
 * `stopledger calibrate`: fits a camera's tone response to a bracket of a still scene and keeps it. Exit status 0 when
 * every camera and rendering found was fitted, 1 when one was refused or nothing could be read.
 */
export async function calibrateCommand(
  paths: readonly string[],
  flags: CalibrateFlags,
  context: CommandContext,
): Promise<ExitStatus> {
  const { frames } = await askedFrames(paths, flags, context);
  const { samples, leftOut } = await sampleAll(frames, context);
  const { groups, leftOut: unusable } = calibrateGroups(samples);
  for (const { name, because } of [...leftOut, ...unusable]) context.stdout.write(`left out ${name}: ${because}\n`);

  const file = flags.into === undefined ? defaultCalibrationFile(context.env) : resolve(flags.into);
  let refused = groups.length === 0;
  for (const { key, names, outcome } of groups) {
    const title = `${key.cameraMake} ${key.cameraModel}`.trim();
    context.stdout.write(`\n${title}, ${names.length} frame${names.length === 1 ? '' : 's'}\n  ${key.rendering}\n`);
    if ('refused' in outcome) {
      refused = true;
      context.stdout.write(`  not fitted: ${outcome.refused}\n`);
      continue;
    }
    context.stdout.write(describeFit(outcome, names));
    if (flags.out !== undefined) {
      await mkdir(flags.out, { recursive: true });
      const plot = join(flags.out, `response-${title.replaceAll(/[^\w-]+/g, '-')}.svg`);
      await writeFile(plot, renderResponsePlot(title, outcome.knots));
      context.stdout.write(`  plot in ${plot}\n`);
    }
    if (flags.dryRun !== true) {
      await keepCalibrations(file, [calibrationOf(key, outcome)]);
      context.stdout.write(`  kept in ${file}; later frames of this camera and rendering are read through it\n`);
    }
  }
  return refused ? 1 : 0;
}

async function sampleAll(
  frames: readonly { name: string; path: string }[],
  context: CommandContext,
): Promise<{ samples: NamedSamples[]; leftOut: LeftOut[] }> {
  const { frameTimeoutSeconds, frameMaxAttempts } = readConfig({});
  const { maxPixels } = MeasuringOptions.parse({});
  const progress = createProgress(context.stderr, false);
  const pool = createMeasuringPool({
    workers: Math.min(frames.length, availableParallelism()),
    timeLimitSeconds: frameTimeoutSeconds,
    maxAttempts: frameMaxAttempts,
  });
  const leftOut: LeftOut[] = [];
  let done = 0;
  try {
    const found = await Promise.all(
      frames.map(async ({ name, path }): Promise<NamedSamples | null> => {
        try {
          return { name, samples: await pool.sample({ path, maxPixels, signal: context.signal }) };
        } catch (thrown) {
          const error = asStopledgerError(thrown);
          if (context.signal.aborted || error.code === 'shutting-down') throw error;
          leftOut.push({ name, because: error.message });
          return null;
        } finally {
          done += 1;
          progress.show('reading', done, frames.length);
        }
      }),
    );
    return { samples: found.filter((f) => f !== null), leftOut };
  } finally {
    progress.clear();
    await pool.close();
  }
}

function describeFit(fit: Calibrated, names: readonly string[]): string {
  const scores = Object.entries(fit.crossValidatedStops)
    .map(([method, stops]) => `${method} ${stops === null ? 'no monotone fit' : stops.toFixed(3)}`)
    .join(', ');
  const steps = fit.steps
    .map((s) => `  ${signed(s.trueStops)} true, ${signed(s.measuredStops)} read (${s.sites} places)\n`)
    .join('');
  return (
    `  fitted: ${fit.method}, over ${fit.spanStops.toFixed(2)} stops of exposure (${names[0] ?? ''} …)\n` +
    `  chosen by leaving each frame out in turn, stops unexplained there: ${scores}\n` +
    `  left unexplained: ${fit.residualStops.toFixed(3)} stop; ${(100 * fit.movedShare).toFixed(0)} % of the places moved and were left out\n` +
    `  one stop of light reads as ${fit.curve.slopeAtMid.toFixed(2)} stops of the decoded file at mid-grey; uncertain by ${fit.uncertaintyStops.toFixed(3)} stop a stop\n` +
    `  steps between neighbouring frames, in stops:\n${steps}`
  );
}

const signed = (stops: number): string => `${stops < 0 ? '−' : '+'}${Math.abs(stops).toFixed(2)}`;
