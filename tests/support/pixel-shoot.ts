/** Whole shoots of small frames through the virtual camera: made, written to a folder, measured and judged. */
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { CameraCurveName } from '../../samples/make/camera-curves.js';
import { HALL, SETUPS, type HallLamps, type PlannedFrame, type PlannedSetup } from '../../samples/make/scenario.js';
import { planShoot } from '../../samples/make/shoot-frames.js';
import { renderFrameWithTruth, type FrameSpec } from '../../samples/make/virtual-camera.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import type { Flag, ReportFrame, ShootReport } from '../../src/contracts/report.js';
import type { JudgedFrameInput } from '../../src/shoot/input.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { temporaryFolder } from './temporary-folder.js';

export interface PixelFrame extends PlannedFrame {
  /** What this frame differs in beyond what a planned frame can say. */
  alter?: (spec: FrameSpec) => FrameSpec;
}

/** A frame of a set-up, in few words. */
export const at = (
  setup: string,
  figure: string,
  framing: PixelFrame['framing'],
  more: Partial<PixelFrame> = {},
): PixelFrame => ({ setup, figure, framing, ...more });

export interface PixelShoot {
  /** Before the digits of each name; decides the noise. */
  prefix: string;
  frames: readonly PixelFrame[];
  setups?: readonly PlannedSetup[];
  curve?: CameraCurveName;
  hall?: HallLamps;
  /** Exif Flash: 9 fired (where left out), 16 forced off. */
  flashCode?: number;
}

/** One frame with what is true of it. */
export interface MadeFrame extends JudgedFrameInput {
  planned: PixelFrame;
  /** Level against what its set-up was metered for: settings and light together. */
  trueFromSetupStops: number;
  path: string;
}

const LONG_EDGE_PX = 600;

function small(spec: FrameSpec): FrameSpec {
  const { widthPx, heightPx } = spec.framing;
  const scale = LONG_EDGE_PX / 960;
  return {
    ...spec,
    framing: { ...spec.framing, widthPx: Math.round(widthPx * scale), heightPx: Math.round(heightPx * scale) },
  };
}

/** Makes the frames in a folder, one of the test's own where none is given, and measures the files. */
export async function makeShoot(shoot: PixelShoot, folder = temporaryFolder()): Promise<MadeFrame[]> {
  const planned = planShoot({
    setups: shoot.setups ?? SETUPS,
    frames: shoot.frames,
    namePrefix: shoot.prefix,
    curve: shoot.curve ?? 'hall',
    hall: shoot.hall ?? HALL,
    flashCode: shoot.flashCode ?? 9,
  });
  const made: MadeFrame[] = [];
  for (const [i, one] of planned.entries()) {
    const { name, spec } = one;
    const frame = shoot.frames[i] as PixelFrame;
    const { jpeg, truth: pixels } = await renderFrameWithTruth(frame.alter?.(small(spec)) ?? small(spec));
    const path = join(folder, name);
    await writeFile(path, jpeg);
    made.push({
      name,
      path,
      planned: frame,
      trueFromSetupStops: one.truth(pixels).trueFromSetupStops,
      measurement: await measureFile(path),
      failure: null,
      measurementHref: null,
    });
  }
  return made;
}

export async function measureFile(path: string): Promise<FrameMeasurement> {
  return (await measureFrame(await readFile(path), MeasuringOptions.parse({}))).measurement;
}

export function judgeMade(frames: readonly JudgedFrameInput[], plan: ShootPlanInput = {}): ShootReport {
  return judgeShoot({ shoot: { id: 'pixels', name: 'Makers' }, plan: ShootPlan.parse(plan), frames });
}

const told = (flags: readonly Flag[]): string =>
  flags.map((flag) => `${flag.code} (${flag.severity}): ${flag.because}`).join(' ') || 'nothing';

/**
 * Every frame against its truth, as a list of what is wrong: clean frames are consistent, others carry one code of
 * each of their lists, and a stated deviation is the true one within `withinStops`.
 */
export function wrongIn(report: ShootReport, made: readonly MadeFrame[], withinStops = 0.2): string[] {
  const reported = new Map(report.frames.map((frame) => [frame.name, frame]));
  return made.flatMap((frame) => {
    const judged = reported.get(frame.name) as ReportFrame;
    const faults = judged.flags.filter(({ severity }) => severity !== 'note');
    const { figure, framing, mustFlag = [], toleranceStops } = frame.planned;
    const who = `${frame.name} [${figure}, ${framing}]`;
    const wrong: string[] = [];
    if (mustFlag.length === 0 && judged.verdict !== 'consistent') wrong.push(`${who} is clean: ${told(faults)}`);
    for (const anyOf of mustFlag)
      if (!faults.some(({ code }) => anyOf.includes(code)))
        wrong.push(`${who} lacks ${anyOf.join(' or ')}: ${told(faults)}`);
    if (mustFlag.length > 0 && judged.verdict === 'consistent') wrong.push(`${who} is called consistent`);
    const stated = judged.deviation.fromSetupStops;
    const allowed = toleranceStops === undefined ? withinStops : toleranceStops;
    if (allowed !== null && (stated === null || Math.abs(stated - frame.trueFromSetupStops) > allowed))
      wrong.push(
        `${who} is stated ${stated?.toFixed(2) ?? 'nothing'} from its set-up, true ${frame.trueFromSetupStops.toFixed(2)}`,
      );
    return wrong;
  });
}

/** Set-ups as numbers of frames, in order. */
export const runsOf = (report: ShootReport): number[] => report.setups.map(({ frames }) => frames.length);
