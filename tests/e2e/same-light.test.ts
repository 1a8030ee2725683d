import { beforeAll, describe, expect, it } from 'vitest';
import { renderShoot } from '../../samples/make/render-shoot.js';
import { HALL, SETUPS, type PlannedFrame } from '../../samples/make/scenario.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FlagCode, ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { measureFrame } from '../../worker/measure-frame.js';

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

const SITTERS = ['ada', 'bea', 'cole', 'dina'] as const;

/** The same eight frames of every sitter: one with the ISO knocked up, one with a lamp that fired half charged, one silent. */
function turn(figure: string): PlannedFrame[] {
  const setup = 'front';
  return [
    { setup, figure, framing: 'full' },
    { setup, figure, framing: 'three-quarter' },
    { setup, figure, framing: 'three-quarter', settings: { fNumber: 8, shutterDenominator: 125, iso: 200 } },
    { setup, figure, framing: 'three-quarter' },
    { setup, figure, framing: 'head' },
    { setup, figure, framing: 'head', powerStops: -0.8, secondsSincePrevious: 1.1 },
    { setup, figure, framing: 'head' },
    { setup, figure, framing: 'three-quarter', powerStops: null },
  ];
}

describe.skipIf(!STUDIO_PRESENT)('one light on skin from pale to deep (skipped where ../shared is absent)', () => {
  const frames = SITTERS.flatMap(turn);
  let report: ShootReport;

  beforeAll(async () => {
    const rendered = await renderShoot({
      about: 'the same light on every sitter',
      namePrefix: 'ONE_',
      curve: 'middle-toe',
      hall: HALL,
      flashCode: 0x09,
      setups: SETUPS.filter((s) => s.id === 'front'),
      frames,
    });
    const options = MeasuringOptions.parse({});
    const measured = [];
    for (const { name, jpeg } of rendered.frames) {
      const { measurement } = await measureFrame(jpeg, options);
      measured.push({ name, measurement, failure: null, measurementHref: null });
    }
    report = judgeShoot({ shoot: { id: 'one', name: 'One light' }, plan: ShootPlan.parse({}), frames: measured });
  }, 200_000);

  const flagsOf = (sitter: number): string[] =>
    turn('').map((_, i) =>
      (report.frames[sitter * 8 + i]?.flags ?? [])
        .filter((f) => f.severity !== 'note' && OF_THE_LIGHT.includes(f.code))
        .map((f) => f.code)
        .sort()
        .join(' '),
    );

  it('gives the same flags for the same light, whoever stands in it', () => {
    const seen = SITTERS.map((_, sitter) => flagsOf(sitter));
    for (const [sitter, flags] of seen.entries()) expect(flags, SITTERS[sitter]).toEqual(seen[0]);
  });

  it('and they are the right ones: nothing on clean frames, each incident by its name', () => {
    const flags = flagsOf(0);
    for (const clean of [0, 1, 3, 4, 6]) expect(flags[clean], `frame ${clean}`).toBe('');
    expect(flags[2]).toContain('settings-changed');
    expect(flags[5]).toContain('light-short');
    expect(flags[7]).toContain('light-missing');
  });

  it('is one set-up', () => {
    expect(report.setups).toHaveLength(1);
  });
});
