import {
  CLOSER,
  EXACT,
  EXPOSED,
  lightingPairs,
  measureStudio,
  MIRRORED,
  SHIFTED,
  skinToSkinStops,
  type StudioCase,
} from '../support/studio-cases.js';
import { studioNames } from '../support/studio.js';
import { medianOf, worst, type AccuracyRow } from './row.js';

const TRUTH = 'renders: light, reflectance and parts per pixel';

function errorsOf(cases: readonly StudioCase[], error: (c: StudioCase) => number | null): number[] {
  return cases.map(error).filter((e) => e !== null);
}

const difference = (a: number | null | undefined, b: number | null | undefined) =>
  a === null || a === undefined || b === null || b === undefined ? null : a - b;

export const skinError = (c: StudioCase) => difference(skinToSkinStops(c.person), c.truth.skinToSkinStops);
export const sideError = (c: StudioCase) => difference(c.sideToSideStops, c.sideToSideTruthStops);

/** Whether the stated interval holds a true light difference; null when none is stated or none is true. */
export function holds(c: StudioCase, trueStops: number | null): boolean | null {
  const stops = c.person?.faceToLowerBodyLightStops ?? null;
  const uncertainty = c.person?.faceToLowerBodyLightUncertaintyStops ?? null;
  if (stops === null || uncertainty === null || trueStops === null) return null;
  return Math.abs(stops - trueStops) <= uncertainty;
}

export const onSkin = (c: StudioCase) => c.truth.lightOnSkinStops;
export const onAll = (c: StudioCase) => (c.truth.legSkin.length > 0 ? c.truth.lightStops : null);

export function heldShare(cases: readonly StudioCase[], truth: (c: StudioCase) => number | null): number {
  const held = cases.map((c) => holds(c, truth(c))).filter((h) => h !== null);
  return held.filter(Boolean).length / held.length;
}

export function halfWidthsOf(cases: readonly StudioCase[]): number[] {
  return errorsOf(cases, (c) => c.person?.faceToLowerBodyLightUncertaintyStops ?? null);
}

/** What a sentence of `limits` says against what is true: "at least" of a difference that is larger, or the other way. */
export function boundsHeld(c: StudioCase): boolean[] {
  return (c.person?.limits ?? []).flatMap((limit) => {
    const bound = /(face minus leg skin|side to side) is at (least|most) (-?[\d.]+)/.exec(limit);
    if (!bound) return [];
    const [, what, sense, stops] = bound;
    const truth = what === 'side to side' ? Math.abs(c.sideToSideTruthStops) : c.truth.skinToSkinStops;
    if (truth === null) return [];
    // Bounds carry the same error of the regions as any level.
    const over = Number(stops) - truth;
    return [(sense === 'least' ? over : -over) <= BOUND_SLACK_STOPS];
  });
}
const BOUND_SLACK_STOPS = 0.25;

export interface HeldOut {
  /** Share of the left-out figures' cases that the interval holds, its scale chosen on the other figures. */
  heldShare: number;
  /** Median half-width with those scales. */
  halfWidthStops: number;
}

/**
 * Leave one figure out: the scale that makes the intervals of all other figures hold 90 % of their cases, used on the figure
 * left out. Null with fewer than two figures. `cases` may hold each figure many times; all of a figure go out together.
 */
export function leaveOneFigureOut(
  cases: readonly StudioCase[],
  truth: (c: StudioCase) => number | null,
): HeldOut | null {
  const figureOf = (c: StudioCase) => c.name.split('-')[0]!;
  const rated = cases.flatMap((c) => {
    const stops = c.person?.faceToLowerBodyLightStops ?? null;
    const halfWidth = c.person?.faceToLowerBodyLightUncertaintyStops ?? null;
    const light = truth(c);
    return stops === null || halfWidth === null || light === null
      ? []
      : [{ figure: figureOf(c), halfWidth, ratio: Math.abs(stops - light) / halfWidth }];
  });
  const figures = [...new Set(rated.map((r) => r.figure))];
  if (figures.length < 2) return null;
  const scaled = figures.flatMap((figure) => {
    const others = rated.filter((r) => r.figure !== figure).map((r) => r.ratio);
    const scale = others.sort((a, b) => a - b)[Math.ceil(0.9 * others.length) - 1]!;
    return rated
      .filter((r) => r.figure === figure)
      .map((r) => ({ held: r.ratio <= scale, halfWidth: r.halfWidth * scale }));
  });
  return {
    heldShare: scaled.filter((s) => s.held).length / scaled.length,
    halfWidthStops: medianOf(scaled.map((s) => s.halfWidth)),
  };
}

/** Error of the change of face minus legs between two lightings against the change of the light on the same skins. */
export function changeErrors(cases: readonly StudioCase[]): number[] {
  return lightingPairs(cases)
    .map(([a, b]) =>
      difference(
        difference(skinToSkinStops(a.person), skinToSkinStops(b.person)),
        difference(a.truth.lightOnSkinStops, b.truth.lightOnSkinStops),
      ),
    )
    .filter((e) => e !== null);
}

/** The same against the change of the true brightness of the same skins: gloss of a skin changes with the light's direction. */
export function brightnessChangeErrors(cases: readonly StudioCase[]): number[] {
  return lightingPairs(cases)
    .map(([a, b]) =>
      difference(
        difference(skinToSkinStops(a.person), skinToSkinStops(b.person)),
        difference(a.truth.skinToSkinStops, b.truth.skinToSkinStops),
      ),
    )
    .filter((e) => e !== null);
}

/**
 * What no measuring of brightness can be better than: how far the renders' own brightness of these skins, read without any
 * model, misses the change of the light. Gloss, and the shadow of hair, change with where the light stands.
 */
function floorOfChange(cases: readonly StudioCase[]): AccuracyRow[] {
  const errors = lightingPairs(cases)
    .map(([a, b]) =>
      difference(
        difference(a.truth.skinToSkinStops, b.truth.skinToSkinStops),
        difference(a.truth.lightOnSkinStops, b.truth.lightOnSkinStops),
      ),
    )
    .filter((e) => e !== null)
    .map(Math.abs);
  const row = { section: 'the renders themselves, without any measuring', unit: 'stop', sense: 'most', truth: TRUTH } as const; // prettier-ignore
  const what = "change of the skins' own brightness between two lights against the change of the light";
  return [
    { ...row, what: `${what}, median of ${errors.length} pairs`, measured: medianOf(errors), goal: 0.1 },
    { ...row, what: `${what}, worst`, measured: worst(errors), goal: 0.25 },
  ];
}

export const calledSkinOnCloth = (cases: readonly StudioCase[]) =>
  cases.filter((c) => c.truth.legSkin.length === 0 && c.person?.basis !== 'clothing' && c.person?.basis !== null)
    .length;

export function rowsOf(view: string, cases: readonly StudioCase[]): AccuracyRow[] {
  const section = `regions (${view})`;
  const most = (what: string, measured: number, goal: number, unit: string): AccuracyRow => ({
    section,
    what,
    measured,
    goal,
    unit,
    sense: 'most',
    truth: TRUTH,
  });
  const least = (what: string, measured: number, goal: number): AccuracyRow => ({
    ...most(what, measured, goal, 'share'),
    sense: 'least',
  });
  const skin = errorsOf(cases, skinError).map(Math.abs);
  const side = errorsOf(cases, sideError).map(Math.abs);
  const change = changeErrors(cases).map(Math.abs);
  const brightness = brightnessChangeErrors(cases).map(Math.abs);
  const bounds = cases.flatMap(boundsHeld);
  const bare = cases.filter((c) => c.truth.legSkin.length > 0);
  const heldOut = { skin: leaveOneFigureOut(cases, onSkin), all: leaveOneFigureOut(cases, onAll) };
  const heldOutRows =
    heldOut.skin === null || heldOut.all === null
      ? []
      : [
          least('the same, scale chosen on the other figures: on the bare skin', heldOut.skin.heldShare, 0.9),
          least('the same, scale chosen on the other figures: on all of the legs', heldOut.all.heldShare, 0.9),
          most('half-width with that scale, median (bare skin)', heldOut.skin.halfWidthStops, 1, 'stop'),
        ];
  return [
    most(`face skin - leg skin, median of ${skin.length}`, medianOf(skin), 0.1, 'stop'),
    most('face skin - leg skin, worst', worst(skin), 0.25, 'stop'),
    most('half-width of the stated interval, median', medianOf(halfWidthsOf(cases)), 1, 'stop'),
    least('light on the bare skin inside the stated interval', heldShare(cases, onSkin), 0.9),
    least('light on all of the legs inside the stated interval', heldShare(cases, onAll), 0.9),
    ...heldOutRows,
    most(`change between two lights, median of ${change.length} pairs`, medianOf(change), 0.1, 'stop'),
    most('change between two lights, worst', worst(change), 0.25, 'stop'),
    most("change between two lights against the skins' own brightness, worst", worst(brightness), 0.25, 'stop'),
    most(`side to side, median of ${side.length}`, medianOf(side), 0.25, 'stop'),
    most('side to side, worst', worst(side), 0.25, 'stop'),
    most('figures in trousers whose legs were called skin', calledSkinOnCloth(cases), 0, 'figures'),
    most(
      `bounds told of ${bounds.length} clipped or black that are wrong`,
      bounds.filter((held) => !held).length,
      0,
      'bounds',
    ),
    most(
      `of ${bare.length} figures with bare shins, no skin found`,
      bare.filter((c) => c.person === null || c.person.basis === 'clothing' || c.person.basis === null).length,
      0,
      'figures',
    ),
  ];
}

/**
 * Regions against the rendered figures' truth; empty where the renders are not present. The limits of the skin and
 * hair rules and the interval's terms were chosen while looking at these very figures: they are no held-out test.
 */
export async function regionRows(): Promise<AccuracyRow[]> {
  if (studioNames().length === 0) return [];
  const rows: AccuracyRow[] = [];
  for (const view of [EXACT, MIRRORED, SHIFTED, CLOSER, ...EXPOSED]) {
    const cases = await measureStudio(view);
    rows.push(...rowsOf(view.name, cases));
    if (view === EXACT) rows.push(...floorOfChange(cases));
  }
  return rows;
}
