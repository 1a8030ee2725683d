import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { Face } from '../../src/contracts/people.js';
import { renderSetupFallOff } from '../../src/render/html/setup-fall-off.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeReport } from '../support/report.js';

const NAMES = ['P1.jpg', 'P2.jpg', 'P3.jpg', 'P4.jpg'];
const [setup] = fakeReport(NAMES.map((name) => ({ name }))).setups;
if (setup === undefined) throw new Error('the report has a set-up');
const SETUP = { ...setup, id: 's1', frames: NAMES };

/** A figure whose levels fall by so much from the face at each of four heights; feet in the frame unless told. */
function figure(levelsFromFaceStops: readonly number[], faceLevelStops: number, of: { feet?: boolean; face?: Partial<Face> } = {}): FrameMeasurement {
  const measurement = fakeMeasurement({
    faceLevelStops,
    lowerBody: { levelStops: -2, basis: 'skin' },
    profileLevelsStops: levelsFromFaceStops.map((stops) => faceLevelStops + stops),
  });
  const [person] = measurement.people;
  if (!person?.face || person.lowerBody === null) throw new Error('the figure has a face and legs');
  const partsSeen = of.feet === false ? person.lowerBody.partsSeen : [...person.lowerBody.partsSeen, 'foot-left' as const];
  return { ...measurement, people: [{ ...person, face: { ...person.face, ...of.face }, lowerBody: { ...person.lowerBody, partsSeen } }] };
} // prettier-ignore

const rendered = (figures: readonly FrameMeasurement[]) => {
  const html = renderSetupFallOff(SETUP, new Map(figures.map((one, i) => [NAMES[i] as string, one])));
  return html === null ? null : parseHTML(`<body>${html.text}</body>`).document;
};

/** The points across the plot, in stops: its first stands on the face's line, its last so many stops away. */
function levelsIn(document: Document, lastStops: number): number[] {
  const across = [...document.querySelectorAll('circle')].map((dot) => Number(dot.getAttribute('cx')));
  const [first = NaN, last = NaN] = [across[0], across.at(-1)];
  return across.map((x) => ((x - first) / (last - first)) * lastStops);
}

describe('how levels fall from head to feet in a set-up', () => {
  it('is drawn from the face, one point a height, whatever the level of the face', () => {
    for (const face of [-1, 0.5]) {
      const document = rendered([figure([0, -0.5, -1, -2], face)]);
      expect(document?.querySelector('figcaption')?.textContent).toMatch(/the one whole figure\./);
      const levels = levelsIn(document as unknown as Document, -2);
      [0, -0.5, -1, -2].forEach((stops, i) => { expect(levels[i]).toBeCloseTo(stops, 2); }); // prettier-ignore
      expect(document?.querySelector('svg')?.getAttribute('aria-label')).toContain('set-up s1');
    }
  });

  it('is the median over several figures', () => {
    const document = rendered([figure([0, -0.5, -1, -2], 0), figure([0, -0.7, -2, -3], 1), figure([0, -0.6, -3, -1], -1)]);
    expect(document?.querySelector('figcaption')?.textContent).toMatch(/median and middle half of 3 whole figures/);
    const levels = levelsIn(document as unknown as Document, -2);
    [0, -0.6, -2, -2].forEach((stops, i) => { expect(levels[i]).toBeCloseTo(stops, 2); });
  }); // prettier-ignore

  it('leaves out figures without feet, without a face that is known, and frames that were not measured', () => {
    const whole = figure([0, -0.5, -1, -2], 0);
    const others = [
      figure([0, -4, -5, -6], 0, { feet: false }),
      figure([0, -4, -5, -6], 0, { face: { levelIsAtLeast: true } }),
      figure([0, -4, -5, -6], 0, { face: { levelStops: null } }),
    ];
    const document = rendered([whole, ...others]);
    expect(document?.querySelector('figcaption')?.textContent).toMatch(/the one whole figure\./);
    for (const other of others) expect(rendered([other])).toBeNull();
    expect(rendered([])).toBeNull();
    expect(rendered([figure([0, -1], 0)])).toBeNull();
  });
});
