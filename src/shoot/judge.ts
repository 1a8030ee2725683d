import type { PlannedSetup, ShootPlan } from '../contracts/plan.js';
import type { CameraClock, ShootReport } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import { buildTracks, firstPlace, type Track } from './build-setups.js';
import { cameraClocksOf, clockAhead } from './clocks/camera-clocks.js';
import { factsOf, type FrameFacts } from './facts.js';
import { asFinished } from './finished.js';
import type { JudgeInput, JudgedFrameInput } from './input.js';
import { decideLightKind, type LightKindDecision } from './light-kind.js';
import { lookOfSetup } from './look/compare-look.js';
import { measuringVersionsOf, versionCautions } from './measured-with.js';
import { orderFrames } from './order.js';
import { complianceOf } from './plan/compliance.js';
import { planForFrame, plannedSetupsOf } from './plan/planned-setups.js';
import { prepareFrames } from './rendering/prepare-frames.js';
import { reportFrame, unreadableFrame, type JudgedFrame } from './report-frame.js';
import { reportSetup } from './report-setup.js';
import type { FrameContext } from './setup-state.js';
import { intervalMs } from './signals.js';
import { withNotes } from './summary-notes.js';
import { summarise } from './summary.js';
import { tracksOf } from './tracks.js';

/**
 * What a set of measured frames means: set-ups, deviations and their causes, corrections, verdicts and a
 * summary. A pure function: the same frames in any order give the same report.
 *
 * @throws bad-plan when the plan names a reference frame that is not among the frames
 */
export function judgeShoot({ shoot, plan, frames }: JudgeInput): ShootReport {
  if (plan.referenceFrame !== undefined && !frames.some((frame) => frame.name === plan.referenceFrame))
    throw new StopledgerError(
      'bad-plan',
      `Expected the name of a frame of this shoot for referenceFrame but received "${plan.referenceFrame}"`,
    );
  const prepared = prepareFrames(plan.finished === true ? frames.map(asFinished) : frames, plan);
  const { ordered, facts, tracks: built, lightKind, clocks } = arrange(prepared.frames, plan);
  const plannedOf = plannedSetupsOf(plan, facts);
  const contexts = contextsOf(built, { plan, plannedOf, lightKind });
  const reference = plan.referenceFrame === undefined ? null : (contexts.get(plan.referenceFrame) ?? null);

  const looks = new Map(
    built.flatMap(({ setups }) => setups.map((setup) => [setup, lookOfSetup(setup, plan, lightKind.kind)] as const)),
  );
  const corrected = ordered.map((input): JudgedFrame => {
    const context = contexts.get(input.name);
    return context === undefined
      ? unreadableFrame(input)
      : reportFrame(context, reference, looks.get(context.setup) ?? null);
  });
  const reported = corrected.map(({ frame }) => frame);
  const byName = new Map(reported.map((frame) => [frame.name, frame]));
  const setups = built
    .flatMap((track) => track.setups)
    .sort((a, b) => firstPlace(a) - firstPlace(b))
    .map((setup) => reportSetup(setup, lightKind, byName, plan.compareSitters !== false, looks.get(setup) ?? null));
  const measurements = facts.map(({ measurement }) => measurement);
  const planCompliance = complianceOf(plan, plannedOf, built, lightKind);
  const { otherRenderings } = prepared;
  const summary = summarise(reported, setups, { lightKind, clocks, otherRenderings }, versionCautions(measurements));
  return {
    schemaVersion: 1,
    shoot: { id: shoot.id, name: shoot.name, measuringVersions: measuringVersionsOf(measurements) },
    plan,
    setups,
    frames: reported,
    corrections: corrected.flatMap(({ frame, corrections }) =>
      corrections.length === 0 ? [] : [{ frame: frame.name, steps: corrections }],
    ),
    planCompliance,
    summary: withNotes(summary, plan, setups, planCompliance, lightKind, prepared.frames),
  };
}

interface Arranged {
  ordered: JudgedFrameInput[];
  facts: FrameFacts[];
  tracks: Track[];
  lightKind: LightKindDecision;
  clocks: CameraClock[];
}

/** Frames in order, and each camera's set-ups; once more where the clocks turn out to disagree. */
function arrange(frames: readonly JudgedFrameInput[], plan: ShootPlan, found: CameraClock[] | null = null): Arranged {
  const aheadMs = clockAhead(plan, found ?? []);
  const ordered = orderFrames(frames, aheadMs);
  const facts: FrameFacts[] = [];
  ordered.forEach((input, place) => {
    if (input.measurement !== null && input.failure === null)
      facts.push(factsOf(input, input.measurement, place, aheadMs(input)));
  });
  const byCamera = tracksOf(facts);
  const lightKind = decideLightKind(byCamera, plan);
  const tracks = buildTracks(byCamera, plan, lightKind);
  if (found !== null) return { ordered, facts, tracks, lightKind, clocks: found };
  const clocks = cameraClocksOf(tracks, plan);
  const off = clocks.some(({ from, aheadSeconds }) => from === 'found' && aheadSeconds !== 0);
  return off ? arrange(frames, plan, clocks) : { ordered, facts, tracks, lightKind, clocks };
}

function contextsOf(
  tracks: readonly Track[],
  shared: { plan: ShootPlan; plannedOf: ReadonlyMap<string, PlannedSetup>; lightKind: LightKindDecision },
): Map<string, FrameContext> {
  const contexts = new Map<string, FrameContext>();
  for (const track of tracks) {
    let before: FrameContext['frame'] | null = null;
    for (const setup of track.setups)
      for (const [index, frame] of setup.frames.entries()) {
        const light = setup.lights[index];
        const cast = setup.casts[index];
        if (light === undefined || cast === undefined) continue;
        const planned = shared.plannedOf.get(frame.facts.name) ?? null;
        contexts.set(frame.facts.name, {
          frame,
          light,
          cast,
          setup,
          index,
          plan: planForFrame(shared.plan, planned),
          planned,
          lightKind: shared.lightKind,
          sincePreviousMs: before === null ? null : intervalMs(before, frame),
          usualIntervalMs: track.usualIntervalMs,
        });
        before = frame;
      }
  }
  return contexts;
}
