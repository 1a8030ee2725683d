import type { ComplianceVerdict, PlanCompliance } from '../../contracts/compliance.js';
import type { PlannedSetup, ShootPlan } from '../../contracts/plan.js';
import type { Track } from '../build-setups.js';
import type { LightKindDecision } from '../light-kind.js';
import type { SequenceFrame } from '../sequence.js';
import type { Shared, Shot } from './compliance-part.js';
import { fallOffPart } from './fall-off-compliance.js';
import { levelPart } from './level-compliance.js';
import { settingsPart } from './settings-compliance.js';

/**
 * Every planned set-up against what was shot: settings against target or reading, light against what the readings say
 * from one set-up to another, fall-off against the light's place and size. A reading is never held against the level
 * of skin itself, which reflects what it does.
 */
export function complianceOf(
  plan: ShootPlan,
  plannedOf: ReadonlyMap<string, PlannedSetup>,
  tracks: readonly Track[],
  light: LightKindDecision,
): PlanCompliance[] {
  const shots = (plan.setups ?? []).map((planned) => shotOf(planned, plannedOf, tracks));
  return shots.map((shot, i) => oneSetup(shot, shots.slice(0, i).reverse(), { plan, light }));
}

function shotOf(planned: PlannedSetup, plannedOf: ReadonlyMap<string, PlannedSetup>, tracks: readonly Track[]): Shot {
  const byTrack = new Map<number, SequenceFrame[]>();
  const setups: string[] = [];
  tracks.forEach((track, number) => {
    for (const setup of track.setups) {
      const own = setup.frames.filter((frame) => plannedOf.get(frame.facts.name) === planned);
      if (own.length === 0) continue;
      setups.push(setup.id);
      byTrack.set(number, [...(byTrack.get(number) ?? []), ...own]);
    }
  });
  return { planned, byTrack, setups };
}

function oneSetup(shot: Shot, earlier: readonly Shot[], shared: Shared): PlanCompliance {
  const frames = [...shot.byTrack.values()].flat();
  const head = { name: shot.planned.name, setups: shot.setups, frames: frames.length };
  if (frames.length === 0)
    return {
      ...head,
      verdict: 'cannot-tell',
      settings: null,
      level: null,
      fallOff: null,
      because: [`No frame that could be measured fits "${shot.planned.name}" by name and time.`],
    };
  const settings = settingsPart(shot, frames, shared);
  const level = levelPart(shot, earlier, shared);
  const fallOff = fallOffPart(shot, frames, shared);
  return {
    ...head,
    verdict: worst([settings.verdict, level.verdict, fallOff.verdict]),
    settings: settings.value,
    level: level.value,
    fallOff: fallOff.value,
    because: [...settings.because, ...level.because, ...fallOff.because],
  };
}

const BADNESS: Record<ComplianceVerdict, number> = { 'cannot-tell': 0, 'as-planned': 1, check: 2, 'off-plan': 3 };

function worst(verdicts: readonly (ComplianceVerdict | null)[]): ComplianceVerdict {
  return verdicts.reduce<ComplianceVerdict>(
    (sum, verdict) => (verdict !== null && BADNESS[verdict] > BADNESS[sum] ? verdict : sum),
    'cannot-tell',
  );
}
