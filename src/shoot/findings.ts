import type { CameraClock, FlagCode, ReportFrame, Setup } from '../contracts/report.js';
import { medianKnown } from './known.js';
import { clockFindings, setupFindings, toldKey, weightOf } from './setup-findings.js';
import { listNames, signedStops, stepsThat, stopsText } from './wording.js';

/** What each code is about, to say it once for all of its frames. The order breaks ties of weight. */
const TELL: Partial<Record<FlagCode, (frames: string, stops: readonly number[], setups: string) => string>> = {
  'light-missing': (f, s, u) =>
    `The flash did not fire in ${f} (${u}): ${about(s)}; shoot again or leave out, and check trigger and batteries.`,
  'settings-changed': (f, s, u) => `Camera settings were changed in ${f} (${u}): ${about(s)}${undo(s)}.`,
  'light-changed': (f, s, u) =>
    `The light changed in ${f} (${u}) and the settings did not follow: ${about(s)}${undo(s)}.`,
  'light-short': (f, s, u) =>
    `The flash was short of charge in ${f} (${u}): ${about(s)}; leave more time between frames.`,
  'face-clipped': (f, _s, u) =>
    `Faces are clipped in ${f} (${u}): nothing brings that back, so use less light or less exposure.`,
  'face-dark': (f, s, u) => `The face is darker than in the same sitter's other frames in ${f} (${u}): ${about(s)}.`,
  'face-bright': (f, s, u) =>
    `The face is brighter than in the same sitter's other frames in ${f} (${u}): ${about(s)}.`,
  'lower-body-dark': (f, s, u) =>
    `The lower body gets too little light in ${f} (${u}): ${s.length === 0 ? 'see the frames' : `${stopsText(usual(s))} too dark against the face${inTheMedian(s)}`}.`,
  'cast-shifted': (f, _s, u) => `The colour of the light is off in ${f} (${u}).`,
  'settings-off-plan': (f, s, u) => `Settings are not the plan's in ${f} (${u}): ${about(s)}.`,
  'background-shifted': (f, s, u) => `The background stands differently to the subject in ${f} (${u}): ${about(s)}.`,
  'contrast-shifted': (f, s, u) => `Side-to-side contrast is off in ${f} (${u}): ${about(s, 'more', 'less')}.`,
  'level-off-baseline': (f, s, u) => `The level is off its baseline in ${f} (${u}): ${about(s)}.`,
  'highlights-clipped': (f, _s, u) => `Highlights are lost in ${f} (${u}).`,
  'blacks-clipped': (f, _s, u) => `Shadows are lost in ${f} (${u}).`,
};
const CODES = Object.keys(TELL) as FlagCode[];
const MOST_FINDINGS = 3;

const usual = (stops: readonly number[]): number => medianKnown(stops) ?? 0;
const inTheMedian = (stops: readonly number[]): string => (stops.length > 1 ? ' in the median' : '');
const oneWay = (stops: readonly number[]): boolean => stops.every((s) => s > 0) || stops.every((s) => s < 0);

/** How far the frames are off: the median, or from where to where where they go both ways. */
function about(stops: readonly number[], up = 'brighter', down = 'darker'): string {
  if (stops.length === 0) return 'see the frames';
  if (!oneWay(stops)) return `${signedStops(Math.min(...stops))} to ${signedStops(Math.max(...stops))} stop`;
  return `${stopsText(usual(stops))} ${usual(stops) < 0 ? down : up}${inTheMedian(stops)}`;
}

/** Frames that differ by more than one step need each their own correction. Ours. */
const ONE_CORRECTION_STOPS = 1 / 3;

function undo(stops: readonly number[]): string {
  const alike = stops.length > 0 && Math.max(...stops) - Math.min(...stops) <= ONE_CORRECTION_STOPS + 1e-9;
  return alike && oneWay(stops) ? `, ${stepsThat('undo', -usual(stops))}` : '';
}

/** Causes that explain a level: where one is flagged the bare level is not told again. */
const EXPLAINS_LEVEL: readonly FlagCode[] = [
  'light-missing',
  'settings-changed',
  'light-changed',
  'light-short',
  'face-dark',
  'face-bright',
];

/** The three things that matter most, by how many frames are off and by how far; first of all, how the shoot stands. */
export function findingsOf(
  frames: readonly ReportFrame[],
  setups: readonly Setup[],
  clocks: readonly CameraClock[] = [],
): string[] {
  const consistent = frames.filter((frame) => frame.verdict === 'consistent').length;
  if (frames.length === 0) return ['No frames were judged.'];
  const ofShoot = [
    ...setupFindings(setups, new Map(frames.map((frame) => [frame.name, frame]))),
    ...clockFindings(clocks),
  ];
  if (consistent === frames.length)
    return [allWell(frames.length, setups), ...ofShoot.map(({ sentence }) => sentence)].slice(0, MOST_FINDINGS);
  const told = new Set(ofShoot.flatMap((finding) => [...finding.told]));
  const unreadable = frames.filter((frame) => frame.verdict === 'unreadable');
  const ranked: { weight: number; sentence: string }[] = [
    ...ofShoot,
    ...CODES.map((code) => groupOf(code, frames, told)).filter((group) => group.frames.length > 0),
  ];
  ranked.sort((a, b) => b.weight - a.weight);
  const sentences = ranked.slice(0, MOST_FINDINGS).map((group) => group.sentence);
  if (unreadable.length > 0 && sentences.length < MOST_FINDINGS)
    sentences.push(
      `${unreadable.length} of ${frames.length} could not be read: ${listNames(unreadable.map((frame) => frame.name))}.`,
    );
  return sentences;
}

function allWell(count: number, setups: readonly Setup[]): string {
  const spreads = medianKnown(setups.map((setup) => setup.baseline.subjectSpreadStops));
  const spread = spreads === null ? '' : `, spread ${stopsText(spreads)} about the baselines`;
  return `All ${count} frames are consistent in ${setups.length} set-up${setups.length === 1 ? '' : 's'}${spread}.`;
}

function groupOf(
  code: FlagCode,
  frames: readonly ReportFrame[],
  told: ReadonlySet<string>,
): { frames: string[]; weight: number; sentence: string } {
  const names: string[] = [];
  const setups = new Set<string>();
  const stops: number[] = [];
  let weight = 0;
  for (const frame of frames) {
    const flag = frame.flags.find((candidate) => candidate.code === code);
    if (flag === undefined || flag.severity === 'note' || told.has(toldKey(code, frame.name))) continue;
    if (
      code === 'level-off-baseline' &&
      frame.flags.some((other) => other.severity !== 'note' && EXPLAINS_LEVEL.includes(other.code))
    )
      continue;
    // Changed settings are off the plan as well: told once, with what undoes it.
    if (code === 'settings-off-plan' && frame.flags.some((f) => f.code === 'settings-changed' && f.severity !== 'note'))
      continue;
    names.push(frame.name);
    if (frame.setup !== null) setups.add(frame.setup);
    if (flag.stops !== undefined) stops.push(flag.stops);
    weight += weightOf(flag.severity, flag.stops);
  }
  const tell = TELL[code];
  const where = setups.size <= 4 ? [...setups].join(', ') : `${setups.size} set-ups`;
  return {
    frames: names,
    weight,
    sentence: tell === undefined ? '' : tell(listNames(names), stops, where),
  };
}
