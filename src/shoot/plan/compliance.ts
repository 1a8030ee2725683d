import type { ComplianceVerdict, PlanCompliance } from '../../contracts/compliance.js';
import type { PlannedSetup, ShootPlan } from '../../contracts/plan.js';
import { thirdStopSteps } from '../../photometry/stops.js';
import { arrangementOf, changeBetween, withRecognisedSitters } from '../arrangement.js';
import type { Track } from '../build-setups.js';
import { known, medianKnown, medianOf, rounded, type Unknown } from '../known.js';
import type { LightKindDecision } from '../light-kind.js';
import { fromPlanStops } from '../plan-settings.js';
import type { SequenceFrame } from '../sequence.js';
import { settingsText, signedStops, stopsText, thirdSteps } from '../wording.js';
import { expectedFaceToLowerBodyStops } from './expected-fall-off.js';
import { OFF_PLAN_STOPS } from './plan-flags.js';
import { planForFrame } from './planned-setups.js';
import { fromReadingStops, isOfContinuousLight, lightReadStops, readingText } from './reading.js';

/** The frames of one planned set-up, of one camera, in time. */
interface Shot {
  planned: PlannedSetup;
  /** Numbered by the shoot's cameras; frames of two are never compared. */
  byTrack: Map<number, SequenceFrame[]>;
  setups: string[];
}

interface Shared {
  plan: ShootPlan;
  light: LightKindDecision;
}

/** Face and leg skin of one sitter differ by about this by themselves (inference from site-by-site skin tables). */
const SKIN_STOPS = 0.3;
/** The geometry against path-traced figures, whose own shade it does not know; tests/reference/expected-fall-off. */
const GEOMETRY_STOPS = 0.25;
/** A change of light on the same face read by an incident meter and by a picture: pose, dome and trimming. Ours. */
const READING_STOPS = 0.15;
/** Where the light came from another side as well, the face's mean is another part of the face. Ours. */
const OTHER_SIDE = { sideToSideStops: 0.5, addedStops: 0.2 } as const;

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

interface Part<T> {
  value: T | null;
  verdict: ComplianceVerdict | null;
  because: string[];
}

const NOTHING: Part<never> = { value: null, verdict: null, because: [] };

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

const verdictOf = (differenceStops: number, toleranceStops: number, uncertaintyStops: number): ComplianceVerdict => {
  const size = Math.abs(differenceStops);
  if (size > toleranceStops + uncertaintyStops) return 'off-plan';
  return size > toleranceStops ? 'check' : 'as-planned';
};

function settingsPart(
  { planned }: Shot,
  frames: readonly SequenceFrame[],
  { plan, light }: Shared,
): Part<NonNullable<PlanCompliance['settings']>> {
  const { target, toleranceStops } = planForFrame(plan, planned);
  if (target === undefined && planned.reading === undefined) return NOTHING;
  const stops = frames.map(({ facts }) =>
    target === undefined
      ? fromReadingStops(facts, planned, light.shutterWeight)
      : fromPlanStops(facts, target, light.shutterWeight),
  );
  const usual = medianKnown(stops);
  if (usual === null) return { ...NOTHING, because: [untold(planned, plan, light)] };
  const framesOff = known(stops).filter((value) => Math.abs(value) >= OFF_PLAN_STOPS).length;
  const asked =
    target === undefined
      ? readingText(planned)
      : settingsText(target.fNumber ?? null, target.exposureTimeSeconds ?? null, target.iso ?? null);
  const basis = target === undefined ? 'reading' : 'target';
  const source = basis === 'reading' ? `the meter read ${asked}` : `${asked} was planned`;
  const off = Math.abs(usual) < OFF_PLAN_STOPS;
  const odd = framesOff === 0 ? '' : `; ${framesOff} of ${frames.length} frames are not set so`;
  return {
    value: {
      basis,
      asked,
      fromPlanStops: rounded(usual) ?? 0,
      thirdStopSteps: thirdStopSteps(-usual) + 0,
      framesOff,
    },
    verdict: Math.abs(usual) > toleranceStops + 0.01 ? 'off-plan' : off && framesOff === 0 ? 'as-planned' : 'check',
    because: [
      off
        ? `"${planned.name}": ${source}, and so it was set${odd}.`
        : `"${planned.name}": ${source}; it was set ${stopsText(usual)} ${usual > 0 ? 'brighter' : 'darker'} (${thirdSteps(-usual)} of exposure follow the plan)${odd}.`,
    ],
  };
}

function untold({ name, reading }: PlannedSetup, plan: ShootPlan, light: LightKindDecision): string {
  if (plan.finished === true)
    return `"${name}": finished exports are judged on what they show, so settings are not held against the plan.`;
  if (reading !== undefined && isOfContinuousLight(reading) && light.shutterWeight < 1)
    return `"${name}": an exposure value or lux says nothing of a flash, so it is not compared; give the reading as an f-number.`;
  if (reading?.exposureTimeSeconds === undefined && light.shutterWeight > 0)
    return `"${name}": the reading names no exposureTimeSeconds, which continuous light needs, so it is not compared.`;
  return `"${name}": the files do not tell the settings, so they are not held against the plan.`;
}

/** Light on the sitters who are also in an earlier planned set-up: as measured, against as the two readings say. */
function levelPart(
  shot: Shot,
  earlier: readonly Shot[],
  { plan, light }: Shared,
): Part<NonNullable<PlanCompliance['level']>> {
  const { planned } = shot;
  if (planned.reading === undefined || plan.finished === true) return NOTHING;
  for (const before of earlier) {
    if (before.planned.reading === undefined) continue;
    const read = lightReadStops(before.planned.reading, planned.reading, light.shutterWeight);
    const measured = plan.compareSitters === false ? null : measuredChange(before, shot, light.shutterWeight);
    if (read === null || measured === null) continue;
    const uncertainty = READING_STOPS + measured.uncertaintyStops;
    const from = measured.stops - read;
    const sure = verdictOf(from, planForFrame(plan, planned).toleranceStops, uncertainty);
    // A look-alike cannot be ruled out where nobody went on from one set-up to the other.
    const verdict = measured.recognised && sure === 'off-plan' ? 'check' : sure;
    const told = `From "${before.planned.name}" to "${planned.name}" the readings say ${signedStops(read)} stop of light, the sitters ${measured.recognised ? 'who look alike in both' : 'in both'} show ${signedStops(measured.stops)}`;
    return {
      value: {
        against: before.planned.name,
        readStops: rounded(read) ?? 0,
        measuredStops: rounded(measured.stops) ?? 0,
        fromPlanStops: rounded(from) ?? 0,
        thirdStopSteps: thirdStopSteps(-from) + 0,
        uncertaintyStops: rounded(uncertainty) ?? 0,
      },
      verdict,
      because: [
        verdict === 'as-planned'
          ? `${told} (uncertain by ${uncertainty.toFixed(2)}).`
          : `${told} (uncertain by ${uncertainty.toFixed(2)}): ${stopsText(from)} ${from > 0 ? 'more' : 'less'} than read; ${thirdSteps(-from)} of light, or a new reading.`,
      ],
    };
  }
  return earlier.some((before) => before.planned.reading !== undefined)
    ? {
        ...NOTHING,
        because: [
          `"${planned.name}": nobody is in another metered set-up as well, so its light is not held against the readings.`,
        ],
      }
    : NOTHING;
}

function measuredChange(
  before: Shot,
  after: Shot,
  shutterWeight: number,
): { stops: number; uncertaintyStops: number; recognised: boolean } | null {
  for (const [track, frames] of after.byTrack) {
    const then = before.byTrack.get(track);
    if (then === undefined) continue;
    const [earlier, later] = [arrangementOf(then), arrangementOf(frames)];
    const change = withRecognisedSitters(changeBetween(earlier, later, shutterWeight), earlier, later);
    if (change.subjectLightStops === null) continue;
    const perStop = medianOf(frames, (frame) => frame.facts.uncertaintyPerStop) ?? 0;
    const seen = Math.abs(change.subjectLightStops + change.settingsStops);
    const turned = Math.abs(change.sideToSideStops ?? 0) >= OTHER_SIDE.sideToSideStops ? OTHER_SIDE.addedStops : 0;
    return {
      stops: change.subjectLightStops,
      uncertaintyStops: perStop * seen + turned,
      recognised: change.sittersRecognised,
    };
  }
  return null;
}

function fallOffPart(
  { planned }: Shot,
  frames: readonly SequenceFrame[],
  { plan }: Shared,
): Part<NonNullable<PlanCompliance['fallOff']>> {
  if (planned.light === undefined) return NOTHING;
  const expected = expectedFaceToLowerBodyStops(planned.light);
  if (expected === null) return { ...NOTHING, because: [`"${planned.name}": no light reaches the legs as planned.`] };
  const bySitter = new Map<number, Unknown[]>();
  for (const { sitter, facts } of frames) {
    const fall = facts.main?.faceToLowerBodyLightStops ?? null;
    if (fall !== null) bySitter.set(sitter, [...(bySitter.get(sitter) ?? []), fall]);
  }
  const measured = medianKnown([...bySitter.values()].map(medianKnown));
  const says = `a light ${planned.light.lightDistanceMetres} m away gives the legs ${stopsText(expected)} less than the face`;
  if (measured === null)
    return { ...NOTHING, because: [`"${planned.name}": ${says}; no bare leg skin shows, so that is not checked.`] };
  const uncertainty = Math.hypot(SKIN_STOPS / Math.sqrt(bySitter.size), GEOMETRY_STOPS);
  const from = measured - expected;
  const verdict = verdictOf(from, planForFrame(plan, planned).toleranceStops, uncertainty);
  const cause =
    verdict === 'as-planned'
      ? ''
      : from > 0
        ? ': the light stands nearer, higher or smaller than planned, or something shades the legs'
        : ': something else lights the legs, or the light stands farther off than planned';
  return {
    value: {
      expectedStops: rounded(expected) ?? 0,
      measuredStops: rounded(measured) ?? 0,
      fromPlanStops: rounded(from) ?? 0,
      uncertaintyStops: rounded(uncertainty) ?? 0,
    },
    // Geometry knows nothing of floor, walls and fill, so it alone never says off.
    verdict: verdict === 'off-plan' ? 'check' : verdict,
    because: [
      `"${planned.name}": ${says}, measured ${signedStops(measured)} (skin against skin, all in all uncertain by ${uncertainty.toFixed(2)})${cause}.`,
    ],
  };
}
