import { PLAIN_RESPONSE } from './figures.js';
import { measurePeople } from '../../worker/measure/people.js';
import { createPeopleFinder } from '../../worker/people/finder.js';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import type { Person } from '../../src/contracts/people.js';
import { cropRender, loadStudioRender, studioNames, workingImageOf, type StudioRender } from './studio.js';
import { skinTruthOf, type SkinTruth } from './studio-truth.js';

/** One render, seen one way, measured, beside its truth. */
export interface StudioCase {
  /** Figure and light, e.g. `ada-side45`. */
  name: string;
  view: string;
  person: Person | null;
  truth: SkinTruth;
  /** Image left half of the face minus right half, stops of brightness, signed as the measurement's. */
  sideToSideStops: number | null;
  sideToSideTruthStops: number;
  /** Of the pixels called leg skin, the share that is so in truth; null when none was called so. */
  skinPrecision: number | null;
  skinCalledPixels: number;
}

export interface View {
  name: string;
  crop?: { left?: number; top?: number; right?: number; bottom?: number; mirror?: boolean };
  exposureStops: number;
  eightBit?: boolean;
}

/** At -1 stop nothing of the faces is clipped: the exact light is measured. */
export const EXACT: View = { name: 'exact', exposureStops: -1 };
export const MIRRORED: View = { name: 'mirrored', exposureStops: -1, crop: { mirror: true } };
export const SHIFTED: View = { name: 'shifted', exposureStops: -1, crop: { left: 0.12, top: 0.03, bottom: 0.97 } };
export const CLOSER: View = { name: 'closer', exposureStops: -1, crop: { left: 0.1, right: 0.88, bottom: 0.94 } };
export const EXPOSED: View[] = [-6, -5, -4, -3, -2, -1, 0, 1, 2].map((exposureStops) => ({
  name: `${exposureStops > 0 ? '+' : ''}${exposureStops} stops, 8 bit`,
  exposureStops,
  eightBit: true,
}));

/** A measured person and the region codes of the same grid, beside the render's truth. */
export function caseOf(
  name: string,
  view: Pick<View, 'name' | 'crop'>,
  render: StudioRender,
  person: Person | null,
  regions: Uint8Array,
): StudioCase {
  const truth = skinTruthOf(render);
  const inTruth = new Uint8Array(render.parts.length);
  for (const i of truth.legSkin) inTruth[i] = 1;
  let called = 0;
  let right = 0;
  regions.forEach((code, i) => {
    if (code !== REGION_CODES.thighSkin && code !== REGION_CODES.shinSkin) return;
    called++;
    right += inTruth[i]!;
  });
  const side = person?.face?.sideToSideStops ?? null;
  return {
    name,
    view: view.name,
    person,
    truth,
    sideToSideStops: side === null ? null : person?.face?.brightSide === 'image-left' ? side : -side,
    sideToSideTruthStops: render.truth.faceLeftToRight.brightnessStops * (view.crop?.mirror ? -1 : 1),
    skinPrecision: called === 0 ? null : right / called,
    skinCalledPixels: called,
  };
}

/** Measures every render, or those named, seen in one way. */
export async function measureStudio(view: View, names: readonly string[] = studioNames()): Promise<StudioCase[]> {
  const finder = await createPeopleFinder();
  const cases: StudioCase[] = [];
  for (const name of names) {
    const whole = await loadStudioRender(name);
    const render: StudioRender = view.crop ? cropRender(whole, view.crop) : whole;
    const image = workingImageOf(render, view);
    const measured = measurePeople(image, await finder.find(image), PLAIN_RESPONSE);
    const person = measured.people.find((p) => p.main) ?? null;
    cases.push(caseOf(name, view, render, person, measured.regions));
  }
  return cases;
}

/** Face skin minus leg skin as measured; null when no leg skin was found. */
export function skinToSkinStops(person: Person | null): number | null {
  return person?.faceToLowerBodyLightStops ?? null;
}

/** All pairs of two lightings of one figure (the name before the hyphen) seen the same way. */
export function lightingPairs(cases: readonly StudioCase[]): [StudioCase, StudioCase][] {
  const figure = (c: StudioCase) => c.name.split('-')[0];
  return cases.flatMap((a, i) =>
    cases
      .slice(i + 1)
      .filter((b) => figure(a) === figure(b) && a.view === b.view)
      .map((b): [StudioCase, StudioCase] => [a, b]),
  );
}
