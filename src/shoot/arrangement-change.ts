import { SETTING_STOPS, type Arrangement } from './arrangement.js';
import { difference, once, type Unknown } from './known.js';
import { fallOffChange, recognisedSubjectChange, sharedSubjectChange, type FallOffChange } from './sitters-across.js';

/** Frames on each side of a boundary that speak for it; keeps slow drift and long shoots out of the comparison. */
export const WINDOW_FRAMES = 40;

/** What differs from one arrangement to another: second minus first. */
export interface ArrangementChange {
  wallLightStops: Unknown;
  /** Of the sitters who are in both; null when none is. */
  subjectLightStops: Unknown;
  /** Of the wall as it came out, settings and light together; of the sitters in both where no wall is read. */
  levelStops: Unknown;
  sideToSideStops: Unknown;
  /** The light came from one side and comes from the other. */
  sidesSwapped: boolean;
  mired: Unknown;
  fallOff: () => FallOffChange;
  /** What the settings do to the level. */
  settingsStops: number;
  /** The largest change of any one setting that counts, as stops. */
  largestSettingStops: number;
  focalLog2: Unknown;
  /** Whether any setting was touched, also where the changes cancel, and the shutter under flash. */
  cameraTouched: boolean;
  sittersShared: boolean;
  /** Shared only in that somebody in each looks the same, seen at different times. */
  sittersRecognised: boolean;
}

/** Least change that is an other arrangement, and not pose, framing or noise. Ours; levels under the usual 1/3 stop. */
export const TELLING = {
  agreedLightStops: 0.22,
  wallAloneStops: 0.28,
  subjectAloneStops: 0.3,
  wallAgainstSubjectStops: 0.5,
  /** The same sitters before and after; faces and habits differ by more. */
  sideToSideStops: 0.6,
  sideToSideOtherSittersStops: 0.9,
  mired: 18,
  /** Legs of one person differ from the face by the same in every light; those of others by 0.3 stop and more. */
  fallOffStops: { 'own-skin': 0.45, 'own-profile': 0.6, 'other-skin': 0.9 },
  settingStops: SETTING_STOPS,
  /** Two witnesses of the light this near say the same. */
  agreementStops: 0.25,
} as const;

export function changeBetween(before: Arrangement, after: Arrangement, shutterWeight: number): ArrangementChange {
  const subject = sharedSubjectChange(before.sittersAtUsualSettings(), after.sittersAtUsualSettings());
  const steps = [difference(after.av, before.av), difference(after.sv, before.sv)];
  if (shutterWeight > 0) steps.push(shutterWeight * (difference(after.tv, before.tv) ?? 0));
  const settingsStops = after.settingsStops - before.settingsStops;
  const shutterStep = Math.abs(difference(after.tv, before.tv) ?? 0);
  const wandering = before.settingsWander || after.settingsWander;
  return {
    wallLightStops: difference(after.wallLightStops, before.wallLightStops),
    subjectLightStops: subject,
    levelStops:
      difference(after.wallLevelStops, before.wallLevelStops) ?? (subject === null ? null : subject + settingsStops),
    sideToSideStops: difference(after.sideToSideStops, before.sideToSideStops),
    sidesSwapped: (before.brightSide ?? 0) * (after.brightSide ?? 0) < 0,
    mired: difference(after.mired, before.mired),
    fallOff: once(() => fallOffChange(before.sitters(), after.sitters())),
    settingsStops,
    cameraTouched: Math.max(shutterStep, ...steps.map((step) => Math.abs(step ?? 0))) >= TELLING.settingStops,
    largestSettingStops: wandering ? 0 : Math.max(0, ...steps.map((step) => Math.abs(step ?? 0))),
    focalLog2: difference(after.focalLog2, before.focalLog2),
    sittersShared: subject !== null,
    sittersRecognised: false,
  };
}

/** The change with sitters recognised by their looks, where nobody went on from one arrangement to the other. */
export function withRecognisedSitters(
  change: ArrangementChange,
  before: Arrangement,
  after: Arrangement,
): ArrangementChange {
  if (change.sittersShared) return change;
  const subject = recognisedSubjectChange(before.sitters(), after.sitters());
  if (subject === null) return change;
  return { ...change, subjectLightStops: subject, sittersShared: true, sittersRecognised: true };
}

/** Change of the light that both witnesses support, or the better one's word; 0 where nothing tells. */
export function lightChangeStops({ wallLightStops: wall, subjectLightStops: subject }: ArrangementChange): number {
  if (wall === null) return subject ?? 0;
  if (subject === null) return wall;
  return Math.abs(wall - subject) <= TELLING.agreementStops ? (wall + subject) / 2 : subject;
}

export function lightChanged(change: ArrangementChange): boolean {
  const { wallLightStops: wall, subjectLightStops: subject } = change;
  if (wall === null || subject === null) {
    const alone = wall ?? subject;
    if (alone === null) return false;
    return Math.abs(alone) >= (wall === null ? TELLING.subjectAloneStops : TELLING.wallAloneStops);
  }
  if (Math.abs(wall - subject) <= TELLING.agreementStops)
    return Math.abs(wall + subject) / 2 >= TELLING.agreedLightStops;
  return Math.abs(subject) >= TELLING.subjectAloneStops || Math.abs(wall) >= TELLING.wallAgainstSubjectStops;
}

export const settingsChanged = (change: ArrangementChange): boolean =>
  change.largestSettingStops >= TELLING.settingStops;

export const sideToSideChanged = (change: ArrangementChange): boolean =>
  Math.abs(change.sideToSideStops ?? 0) >=
  (change.sittersShared ? TELLING.sideToSideStops : TELLING.sideToSideOtherSittersStops);

export const castChanged = (change: ArrangementChange): boolean => Math.abs(change.mired ?? 0) >= TELLING.mired;

/** A light that was raised, lowered or moved nearer falls off differently down the body, at whatever level. */
export function fallOffChanged(change: ArrangementChange): boolean {
  const { stops, by } = change.fallOff();
  return stops !== null && by !== null && Math.abs(stops) >= TELLING.fallOffStops[by];
}

/** Whether this is another arrangement at all. */
export function isAnother(change: ArrangementChange): boolean {
  return (
    lightChanged(change) ||
    settingsChanged(change) ||
    sideToSideChanged(change) ||
    change.sidesSwapped ||
    castChanged(change) ||
    fallOffChanged(change)
  );
}

/** Whether settings, colour or side alone tell that these are two arrangements; cheaper than the whole change. */
export function plainlyAnother(before: Arrangement, after: Arrangement): boolean {
  const apart = (a: Unknown, b: Unknown): number => Math.abs(difference(a, b) ?? 0);
  const settings = Math.max(apart(before.av, after.av), apart(before.sv, after.sv));
  return (
    (settings >= TELLING.settingStops && !before.settingsWander && !after.settingsWander) ||
    apart(before.mired, after.mired) >= TELLING.mired ||
    (before.brightSide ?? 0) * (after.brightSide ?? 0) < 0
  );
}

/** Only the camera was touched: the light is as before, or moved by just what the settings took away. */
export function onlySettingsChanged(change: ArrangementChange): boolean {
  if (!settingsChanged(change) || sideToSideChanged(change) || change.sidesSwapped || castChanged(change)) return false;
  if (fallOffChanged(change)) return false;
  return !lightChanged(change) || Math.abs(change.levelStops ?? Infinity) < TELLING.wallAloneStops;
}
