import type { CameraCurveName } from '../../samples/make/camera-curves.js';
import { renderShoot } from '../../samples/make/render-shoot.js';
import { HALL, SETUPS, type PlannedFrame } from '../../samples/make/scenario.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FlagCode, ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { measureFrame } from '../../worker/measure-frame.js';
import type { AccuracyRow } from './row.js';

/** What a flag may say of the light; clipping depends on what reflects, legs on what they wear. */
const OF_THE_LIGHT: readonly FlagCode[] = [
  'level-off-baseline',
  'settings-changed',
  'light-changed',
  'light-missing',
  'light-short',
  'face-dark',
  'face-bright',
  'background-shifted',
  'contrast-shifted',
  'cast-shifted',
];

export interface OneLight {
  setup: 'front' | 'side';
  /** All of them were rendered under this light. */
  sitters: readonly string[];
}

export const FROM_THE_FRONT: OneLight = { setup: 'front', sitters: ['ada', 'bea', 'cole', 'dina'] };
export const FROM_THE_SIDE: OneLight = { setup: 'side', sitters: ['ada', 'bea', 'cole', 'dina', 'hana'] };

/** Places in a sitter's turn with nothing wrong, and what must be said at the others. */
export const CLEAN = [0, 1, 3, 4, 6];
export const INCIDENTS: ReadonlyMap<number, FlagCode> = new Map([
  [2, 'settings-changed'],
  [5, 'light-short'],
  [7, 'light-missing'],
]);

/** The same eight frames of every sitter: one with the ISO knocked up, one with a lamp that fired half charged, one silent. */
function turn({ setup }: OneLight, figure: string): PlannedFrame[] {
  const metered = SETUPS.find(({ id }) => id === setup)?.metered;
  if (metered === undefined) throw new RangeError(`no set-up ${setup}`);
  return [
    { setup, figure, framing: 'full' },
    { setup, figure, framing: 'three-quarter' },
    { setup, figure, framing: 'three-quarter', settings: { ...metered, iso: 2 * metered.iso } },
    { setup, figure, framing: 'three-quarter' },
    { setup, figure, framing: 'head' },
    { setup, figure, framing: 'head', powerStops: -0.8, secondsSincePrevious: 1.1 },
    { setup, figure, framing: 'head' },
    { setup, figure, framing: 'three-quarter', powerStops: null },
  ];
}

export interface SameLightResult {
  report: ShootReport;
  /** By sitter, by place in the turn: codes of the light that are no mere notes, sorted, with blanks between. */
  flags: string[][];
}

/** One shoot of the virtual camera in which every sitter stands in one light, one after another. */
export async function shootSameLight(light: OneLight, curve: CameraCurveName): Promise<SameLightResult> {
  const turns = light.sitters.map((figure) => turn(light, figure));
  const rendered = await renderShoot({
    about: 'the same light on every sitter',
    namePrefix: 'ONE_',
    curve,
    hall: HALL,
    flashCode: 0x09,
    setups: SETUPS.filter((s) => s.id === light.setup),
    frames: turns.flat(),
  });
  const options = MeasuringOptions.parse({});
  const frames = [];
  for (const { name, jpeg } of rendered.frames) {
    const { measurement } = await measureFrame(jpeg, options);
    frames.push({ name, measurement, failure: null, measurementHref: null });
  }
  const report = judgeShoot({ shoot: { id: 'one', name: 'One light' }, plan: ShootPlan.parse({}), frames });
  let next = 0;
  const flags = turns.map((frames) =>
    frames.map(() =>
      (report.frames[next++]?.flags ?? [])
        .filter((f) => f.severity !== 'note' && OF_THE_LIGHT.includes(f.code))
        .map((f) => f.code)
        .sort()
        .join(' '),
    ),
  );
  return { report, flags };
}

export async function sameLightRows(): Promise<AccuracyRow[]> {
  if (!STUDIO_PRESENT) return [];
  const rows: AccuracyRow[] = [];
  for (const curve of ['soft-shoulder', 'middle-toe', 'hard-toe'] as const)
    for (const light of [FROM_THE_FRONT, FROM_THE_SIDE]) {
      const { flags, report } = await shootSameLight(light, curve);
      const differ = flags.flatMap((own, sitter) =>
        own.flatMap((codes, place) =>
          codes === flags[0]?.[place] ? [] : [`${light.sitters[sitter]} ${place}: "${codes}"`],
        ),
      );
      const falsely = flags.flat().filter((codes, i) => CLEAN.includes(i % 8) && codes !== '').length;
      const named = [...INCIDENTS].flatMap(([place, code]) => flags.map((own) => own[place]?.includes(code) === true));
      const row = (what: string, measured: number, goal: number, sense: 'most' | 'least'): AccuracyRow => ({
        section: 'one light on skin from pale to deep (virtual camera)',
        what: `${light.setup}, ${curve}, ${light.sitters.length} sitters: ${what}`,
        measured,
        goal,
        unit: sense === 'most' ? 'frames' : 'share',
        sense,
        truth: 'every sitter has the same eight frames under the same light',
      });
      const which = differ.length === 0 ? '' : ` (${differ.join('; ')})`;
      rows.push(row(`flags of the light unlike those of ${light.sitters[0]}${which}`, differ.length, 0, 'most'));
      rows.push(row('clean frames flagged', falsely, 0, 'most'));
      rows.push(row('incidents named right', named.filter(Boolean).length / named.length, 0.9, 'least'));
      rows.push(row('set-ups more than the one there was', report.setups.length - 1, 0, 'most'));
    }
  return rows;
}
