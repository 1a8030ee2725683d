import { readFile } from 'node:fs/promises';
import type { Command } from 'commander';
import { Option } from 'commander';
import { z } from 'zod';
import { LightKind, ShootPlan } from '../contracts/plan.js';
import { StopledgerError } from '../errors.js';
import type { FoundFrame } from './find-frames.js';
import { readLook } from './look-options.js';

export interface PlanFlags {
  plan?: string;
  tolerance?: string;
  light?: string;
  reference?: string;
  look?: string;
  finished?: boolean;
}

/** Adds the options that say how a shoot is to be judged. */
export function addPlanOptions(command: Command): Command {
  return command
    .option('--plan <file>', 'the shoot plan (JSON)')
    .option('--tolerance <stops>', 'how far a level may stand from its baseline, in stops: 0.5 or 1/3 (default 1/3)')
    .addOption(
      new Option('--light <kind>', 'which light is used (default auto: the shoot decides)').choices([
        ...LightKind.options,
      ]),
    )
    .option('--reference <name>', 'frame that the others are compared with besides their set-up')
    .option('--look <file>', 'saved look that every set-up is held against (see --save-look)')
    .option('--finished', 'finished exports, cropped and edited: judged on what they show, never on settings');
}

/** Reads `0.5` or `1/3`, in stops. Throws `bad-usage` for anything else or outside 0 < stops <= 5. */
export function parseTolerance(text: string): number {
  const match = /^\s*(\d+(?:\.\d+)?|\.\d+)(?:\s*\/\s*(\d+(?:\.\d+)?))?\s*$/.exec(text);
  const stops = match === null ? Number.NaN : Number(match[1]) / Number(match[2] ?? 1);
  if (!(stops > 0 && stops <= 5)) {
    throw new StopledgerError(
      'bad-usage',
      `--tolerance: stops above 0 and up to 5 expected, such as 0.5 or 1/3; received "${text}"`,
    );
  }
  return stops;
}

async function readPlanFile(path: string): Promise<unknown> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-usage', `--plan "${path}" cannot be read: ${reason}`, { cause: error });
  }
  try {
    return JSON.parse(text);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-plan', `--plan "${path}" is not JSON: ${reason}`, { cause: error });
  }
}

/** The frame that the user means: by frame name, or by file name or path where only one frame fits. */
export function resolveReference(reference: string, frames: readonly FoundFrame[]): string {
  if (frames.some((frame) => frame.name === reference)) return reference;
  const wanted = `/${reference.replaceAll('\\', '/').replace(/^(\.?\/)+/, '')}`;
  const fitting = frames.filter((frame) => frame.path.replaceAll('\\', '/').endsWith(wanted));
  const only = fitting[0];
  if (fitting.length === 1 && only !== undefined) return only.name;
  const problem =
    fitting.length === 0
      ? 'no frame has this name'
      : `it fits ${fitting.length} frames: ${fitting.map((f) => f.name).join(', ')}`;
  throw new StopledgerError('bad-usage', `--reference "${reference}": ${problem}; expected one of the frame names`);
}

/** The plan file, if any, with the options of the command line over it, whatever frame it refers to. Throws `bad-plan` or `bad-usage`. */
export async function readPlanBeforeFrames(flags: PlanFlags): Promise<ShootPlan> {
  const fromFile = flags.plan === undefined ? {} : await readPlanFile(flags.plan);
  const base = ShootPlan.safeParse(fromFile);
  if (!base.success)
    throw new StopledgerError('bad-plan', `--plan "${flags.plan ?? ''}": ${z.prettifyError(base.error)}`);
  const plan = { ...base.data };
  if (flags.tolerance !== undefined) plan.toleranceStops = parseTolerance(flags.tolerance);
  if (flags.light !== undefined) plan.light = LightKind.parse(flags.light);
  if (flags.look !== undefined) plan.look = await readLook(flags.look);
  if (flags.finished === true) plan.finished = true;
  if (flags.reference !== undefined) plan.referenceFrame = flags.reference;
  return plan;
}

/** The same, its reference frame found among these frames. */
export async function readPlan(flags: PlanFlags, frames: readonly FoundFrame[]): Promise<ShootPlan> {
  const plan = await readPlanBeforeFrames(flags);
  if (plan.referenceFrame !== undefined) plan.referenceFrame = resolveReference(plan.referenceFrame, frames);
  return plan;
}
