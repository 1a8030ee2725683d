import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import { arrangementOf } from '../../src/shoot/arrangement.js';
import type { FrameCast } from '../../src/shoot/cast.js';
import type { FrameLight } from '../../src/shoot/deviation.js';
import { factsOf } from '../../src/shoot/facts.js';
import type { LightKindDecision } from '../../src/shoot/light-kind.js';
import type { SequenceFrame } from '../../src/shoot/sequence.js';
import type { FrameContext, SetupMedians, SetupState } from '../../src/shoot/setup-state.js';
import { fakeMeasurement, type FakeFrame } from './measurement.js';

/** One frame of a sequence, its light and settings as said and not as worked out. */
export function sequenceFrame(
  fake: FakeFrame = {},
  told: Partial<SequenceFrame> = {},
  name = 'F001.jpg',
): SequenceFrame {
  const measurement = fakeMeasurement(fake);
  return {
    facts: factsOf({ name, measurement, failure: null, measurementHref: null }, measurement, 0),
    sitter: 0,
    faceAgainstAroundStops: 0,
    settingsStops: 0,
    settingsKnown: true,
    automatic: false,
    driftStops: 0,
    wallLightStops: null,
    subjectLightStops: null,
    ...told,
  };
}

const LIGHT: FrameLight = {
  settingsStops: 0,
  settingsKnown: true,
  wallStops: 0,
  subjectStops: 0,
  levelStops: 0,
  lightStops: 0,
  witnesses: 'both',
  errorStops: 0.05,
};

/** A light of which settings and change are said; the level is their sum. */
export function lightOf(told: Partial<FrameLight> = {}): FrameLight {
  const light = { ...LIGHT, ...told };
  const { lightStops, settingsStops } = light;
  return {
    ...light,
    levelStops: 'levelStops' in told ? light.levelStops : lightStops === null ? null : lightStops + settingsStops,
  };
}

const MEDIANS: SetupMedians = {
  sideToSideStops: 1,
  sideToSideSpreadStops: 0.1,
  wallSpreadStops: 0.05,
  highlightsShare: 0,
  largestHighlightAreaShare: 0,
  facesShare: 0,
  blacksShare: 0,
  personToBackgroundStops: 1.5,
  someFlashFired: false,
  sitterSideToSideStops: new Map(),
  sitterLegSkinStops: new Map(),
};

const KINDS: Record<'flash' | 'continuous', LightKindDecision> = {
  flash: { kind: 'flash', shutterWeight: 0, usualTv: 0, because: 'told' },
  continuous: { kind: 'continuous', shutterWeight: 1, usualTv: 0, because: 'told' },
};

interface ToldFrame {
  fake?: FakeFrame | undefined;
  frame?: Partial<SequenceFrame> | undefined;
  light?: Partial<FrameLight> | undefined;
}

export interface ToldContext extends ToldFrame {
  cast?: Partial<FrameCast>;
  medians?: Partial<SetupMedians>;
  setup?: Partial<SetupState>;
  /** The other frames of the set-up, before and after; eight usual ones on each side where not told. */
  before?: readonly ToldFrame[];
  after?: readonly ToldFrame[];
  plan?: ShootPlanInput;
  kind?: 'flash' | 'continuous';
  sincePreviousMs?: number | null;
  usualIntervalMs?: number | null;
}

const USUAL: readonly ToldFrame[] = Array.from({ length: 8 }, () => ({}));

/** What a cause looks at, made of the few numbers that a test is about; all else stands as the set-up usually does. */
export function contextOf(told: ToldContext = {}): FrameContext {
  const before = told.before ?? USUAL;
  const all: ToldFrame[] = [
    ...before,
    { fake: told.fake, frame: told.frame, light: told.light },
    ...(told.after ?? USUAL),
  ];
  const frames = all.map(({ fake, frame }, i) =>
    sequenceFrame(fake ?? {}, frame ?? {}, `F${String(i + 1).padStart(3, '0')}.jpg`),
  );
  const lights = all.map(({ light }) => lightOf(light));
  const cast: FrameCast = { mired: 0, duv: 0, witnesses: 'both', spreadMired: 3, ...told.cast };
  const index = before.length;
  const setup: SetupState = {
    id: 's1',
    track: 0,
    frames,
    lights,
    casts: frames.map((_, i) => (i === index ? cast : { ...cast, mired: 0, duv: 0 })),
    medians: { ...MEDIANS, ...told.medians },
    arrangement: arrangementOf(frames),
    change: null,
    drift: null,
    automation: null,
    previousId: null,
    departure: null,
    departedFromId: null,
    againId: null,
    ...told.setup,
  };
  return {
    frame: frames[index] as SequenceFrame,
    light: lights[index] as FrameLight,
    cast,
    setup,
    index,
    plan: ShootPlan.parse(told.plan ?? { toleranceStops: 0.25 }),
    planned: null,
    lightKind: KINDS[told.kind ?? 'flash'],
    sincePreviousMs: told.sincePreviousMs === undefined ? 10_000 : told.sincePreviousMs,
    usualIntervalMs: told.usualIntervalMs === undefined ? 10_000 : told.usualIntervalMs,
  };
}
