/**
 * The makers' portrait day of an invented village hall: one camera, one soft light on a stand and a low light for the
 * legs, five makers, a morning. The plan of every frame, before it is made.
 */
import type { FlagCode } from '../../src/contracts/report.js';
import type { Settings } from './exposure.js';
import type { IncidentKind } from './truth.js';

export type FramingKind = 'full' | 'three-quarter' | 'head';

export interface PlannedSetup {
  id: string;
  description: string;
  light: 'front' | 'side45' | 'side75' | 'near';
  metered: Settings;
  lowFillStops: number;
  /** How far under the reading the lamp is set on purpose, to hold the lit cheek: the more, the more from the side. */
  underReadingStops: number;
  /** Level against what was meant: not 0 when the light was moved and not metered. */
  meterErrorStops: number;
  beginsSetup: 'must' | 'may';
  /** Minutes after ten o'clock at which its first frame is made. */
  startsAtMinute: number;
}

export interface PlannedFrame {
  setup: string;
  figure: string;
  framing: FramingKind;
  secondsSincePrevious?: number;
  settings?: Settings;
  /** Lamp power against the set-up's; null is silent. */
  powerStops?: number | null;
  castShiftMired?: number;
  lowFillStops?: number;
  storedOrientation?: 6 | 8;
  incident?: { kind: IncidentKind; because: string };
  mustFlag?: FlagCode[][];
  /** Codes that belong to the incident: allowed, not demanded. */
  mayFlag?: FlagCode[];
  toleranceStops?: number | null;
}

/** Continuous light that is there whether the flash fires or not. */
export interface HallLamps {
  /** Its level on the face at f/8, 1/125 s, ISO 100, in stops relative to a correct reading. */
  ambientStops: number;
  /** Its colour against the flash; positive is warmer. -100..+90. */
  castMired: number;
}

const f8: Settings = { fNumber: 8, shutterDenominator: 125, iso: 100 };
const f56: Settings = { fNumber: 5.6, shutterDenominator: 125, iso: 100 };

export const SETUPS: readonly PlannedSetup[] = [
  {
    id: 'front',
    description: 'soft light beside the camera, low light for the legs, f/8',
    light: 'front',
    metered: f8,
    lowFillStops: 1.6,
    underReadingStops: 0.6,
    meterErrorStops: 0,
    beginsSetup: 'must',
    startsAtMinute: 2,
  },
  {
    id: 'front-open',
    description: 'the same light, aperture opened to f/5.6 and the lamp turned down one stop: nothing is wrong',
    light: 'front',
    metered: f56,
    lowFillStops: 1.6,
    underReadingStops: 0.6,
    meterErrorStops: 0,
    beginsSetup: 'may',
    startsAtMinute: 9,
  },
  {
    id: 'side',
    description: 'light walked round to 45 degrees and read again: lamp up, still f/5.6',
    light: 'side45',
    metered: f56,
    lowFillStops: 1.3,
    underReadingStops: 0.85,
    meterErrorStops: 0,
    beginsSetup: 'must',
    startsAtMinute: 21,
  },
  {
    id: 'far-side-unmetered',
    description: 'light walked on to 75 degrees, nothing else touched and nothing read: 0.8 stop under',
    light: 'side75',
    metered: f56,
    lowFillStops: 1.35,
    underReadingStops: 1,
    meterErrorStops: -0.8,
    beginsSetup: 'must',
    startsAtMinute: 25.35,
  },
  {
    id: 'far-side',
    description: 'the same place, metered at last, lamp up 0.8 stop',
    light: 'side75',
    metered: f56,
    lowFillStops: 1.35,
    underReadingStops: 1,
    meterErrorStops: 0,
    beginsSetup: 'must',
    startsAtMinute: 31,
  },
  {
    id: 'near',
    description: 'light drawn in to 1.1 m and metered, f/8; the low light is still unplugged: legs fall away',
    light: 'near',
    metered: f8,
    lowFillStops: 0,
    underReadingStops: 0.8,
    meterErrorStops: 0,
    beginsSetup: 'must',
    startsAtMinute: 46,
  },
];

const silent = {
  kind: 'light-did-not-fire',
  because: 'the lamp stayed silent: only the hall lamps are left, 5 stops under',
} as const;
const short = {
  kind: 'light-half-charged',
  because: 'fired 1.1 s after the frame before, not recharged: lamp 0.7 stop short',
} as const;
const iso = { kind: 'iso-knocked', because: 'ISO knocked from 100 to 200 for three frames: one stop over' } as const;
const burnt = {
  kind: 'lamp-power-knocked-up',
  because: 'lamp dial knocked up by 2.2 stops for one frame: the face burns out',
} as const;
const cast = {
  kind: 'white-balance-knocked',
  because: 'white balance knocked 60 mireds warmer for two frames',
} as const;
const moved = {
  kind: 'light-moved-without-metering',
  because: 'light moved to 75 degrees without a new reading: 0.8 stop under',
} as const;
const lowSilent = {
  kind: 'low-light-silent',
  because: 'near light without the low one: legs lie 2 stops under the face',
} as const;

const isoFlags = {
  incident: iso,
  settings: { ...f56, iso: 200 },
  mustFlag: [['level-off-baseline', 'settings-changed']],
} satisfies Partial<PlannedFrame>;
const movedFlags = {
  incident: moved,
  mustFlag: [['light-changed', 'level-off-baseline']],
  toleranceStops: 0.35,
} satisfies Partial<PlannedFrame>;
const castFlags = { incident: cast, castShiftMired: 60, mustFlag: [['cast-shifted']] } satisfies Partial<PlannedFrame>;

const at = (setup: string, figure: string, framing: FramingKind, more: Partial<PlannedFrame> = {}): PlannedFrame => ({
  setup,
  figure,
  framing,
  ...more,
});

export const FRAMES: readonly PlannedFrame[] = [
  at('front', 'ada', 'full'),
  at('front', 'ada', 'three-quarter', { storedOrientation: 8 }),
  at('front', 'ada', 'head'),
  at('front', 'cole', 'full'),
  at('front', 'cole', 'three-quarter'),
  at('front', 'cole', 'head'),
  at('front', 'dina', 'full'),
  at('front', 'dina', 'three-quarter', {
    incident: silent,
    powerStops: null,
    mustFlag: [['light-missing']],
    toleranceStops: 1.5,
  }),
  at('front', 'dina', 'three-quarter'),
  at('front', 'dina', 'head'),
  at('front', 'bea', 'full'),
  at('front', 'bea', 'head'),
  at('front-open', 'bea', 'three-quarter'),
  at('front-open', 'dina', 'head', { storedOrientation: 6 }),
  at('front-open', 'dina', 'three-quarter'),

  at('side', 'hana', 'full'),
  at('side', 'hana', 'three-quarter'),
  at('side', 'hana', 'head'),
  at('side', 'bea', 'full'),
  at('side', 'bea', 'head'),
  at('side', 'dina', 'full'),
  at('side', 'dina', 'three-quarter'),
  at('side', 'dina', 'head'),
  at('side', 'dina', 'head', {
    incident: short,
    powerStops: -0.7,
    secondsSincePrevious: 1.1,
    mustFlag: [['light-short']],
    toleranceStops: 0.3,
  }),
  at('side', 'ada', 'full', { storedOrientation: 8 }),
  at('side', 'ada', 'head', {
    incident: burnt,
    powerStops: 2.2,
    mustFlag: [['face-clipped'], ['level-off-baseline', 'light-changed', 'face-bright']],
    toleranceStops: null,
  }),
  at('side', 'ada', 'three-quarter'),
  at('side', 'ada', 'head'),
  at('side', 'cole', 'full'),
  at('side', 'cole', 'three-quarter', isoFlags),
  at('side', 'cole', 'three-quarter', isoFlags),
  at('side', 'cole', 'head', isoFlags),
  at('side', 'cole', 'head'),
  at('side', 'hana', 'head', castFlags),
  at('side', 'hana', 'three-quarter', castFlags),
  at('side', 'hana', 'head'),

  at('far-side-unmetered', 'ada', 'full', movedFlags),
  at('far-side-unmetered', 'ada', 'three-quarter', movedFlags),
  at('far-side-unmetered', 'ada', 'head', movedFlags),
  at('far-side-unmetered', 'ada', 'head', movedFlags),
  at('far-side', 'ada', 'head'),
  at('far-side', 'ada', 'three-quarter', { storedOrientation: 6 }),
  at('far-side', 'cole', 'three-quarter'),
  at('far-side', 'cole', 'full'),

  at('near', 'ada', 'head'),
  at('near', 'ada', 'full', { incident: lowSilent, mustFlag: [['lower-body-dark']] }),
  at('near', 'ada', 'three-quarter', { incident: lowSilent, mayFlag: ['lower-body-dark'] }),
  at('near', 'ada', 'full', { incident: lowSilent, mustFlag: [['lower-body-dark']] }),
];

/** The hall's own lamps, tubes gone yellow. */
export const HALL: HallLamps = { ambientStops: -5, castMired: 85 };
