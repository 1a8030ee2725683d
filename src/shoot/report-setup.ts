import type { LookComparison } from '../contracts/look.js';
import type { ReportFrame, Setup } from '../contracts/report.js';
import { baselineOf, sittersOf } from './baseline.js';
import { describeDrift } from './describe-drift.js';
import { describeChange, describeSetup } from './describe.js';
import { figuresOf } from './look/figures.js';
import type { LightKindDecision } from './light-kind.js';
import type { SetupState } from './setup-state.js';

/**
 * @param judged the judged frames by name
 * @param look how the set-up stands to the plan's saved look; null without one
 */
export function reportSetup(
  setup: SetupState,
  light: LightKindDecision,
  judged: ReadonlyMap<string, ReportFrame>,
  comparesSitters: boolean,
  look: LookComparison | null,
): Setup {
  const baseline = baselineOf(setup);
  const names = setup.frames.map((frame) => frame.facts.name);
  return {
    id: setup.id,
    description: describeSetup(setup, baseline, light),
    frames: names,
    firstFrame: names[0] ?? '',
    lastFrame: names.at(-1) ?? '',
    representativeFrame: representativeOf(setup, judged),
    baseline,
    sitters: comparesSitters ? sittersOf(setup) : [],
    changeFromPrevious: describeChange(setup),
    drift: describeDrift(setup, light),
    automation: setup.automation,
    figures: figuresOf(setup.frames),
    look,
  };
}

/** The consistent frame nearest to the set-up's medians in level, wall, contrast and colour; the earliest of equals. */
function representativeOf(
  { frames, lights, casts, medians }: SetupState,
  judged: ReadonlyMap<string, ReportFrame>,
): string | null {
  let best: { name: string; score: number } | null = null;
  frames.forEach((frame, i) => {
    const { facts } = frame;
    if (judged.get(facts.name)?.verdict !== 'consistent') return;
    const side =
      facts.sideToSideStops === null || medians.sideToSideStops === null
        ? 0.5
        : facts.sideToSideStops - medians.sideToSideStops;
    const score =
      Math.abs((lights[i]?.levelStops ?? 0.5) + frame.driftStops) +
      0.5 * Math.abs(lights[i]?.wallStops ?? 0.5) +
      0.5 * Math.abs(side) +
      Math.abs(casts[i]?.mired ?? 10) / 50 +
      (facts.basis === 'face' ? 0 : 1);
    if (best === null || score < best.score - 1e-9) best = { name: facts.name, score };
  });
  return (best as { name: string } | null)?.name ?? null;
}
