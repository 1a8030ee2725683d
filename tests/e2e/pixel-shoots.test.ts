import { describe, expect, it } from 'vitest';
import { SETUPS, type PlannedSetup } from '../../samples/make/scenario.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { correctedFrames } from '../../src/render/corrected-frames.js';
import type { FlagCode } from '../../src/contracts/report.js';
import { at, judgeMade, makeShoot, runsOf, wrongIn, type PixelFrame } from '../support/pixel-shoot.js';

/*
 * Shoots with one kind of incident each, as pixels: rendered light, camera, JPEG, decoding, finding, measuring,
 * judging. Every frame is held to its truth, and clean frames to no flag at all.
 */
const front = (figure: string, framing: PixelFrame['framing'], more: Partial<PixelFrame> = {}): PixelFrame =>
  at('front', figure, framing, more);
const LIMIT = 240_000;
const F8 = { fNumber: 8, shutterDenominator: 125, iso: 100 };

describe.skipIf(!STUDIO_PRESENT)('pixel shoots (skipped where ../shared is absent)', () => {
  it('a flash that stays silent, and one that fires before it has recharged', { timeout: LIMIT }, async () => {
    const made = await makeShoot({
      prefix: 'SIL_',
      frames: [
        front('ada', 'three-quarter'),
        front('ada', 'head'),
        front('ada', 'three-quarter', { powerStops: null, mustFlag: [['light-missing']], toleranceStops: 1.5 }),
        front('ada', 'three-quarter'),
        front('dina', 'head'),
        front('dina', 'head', {
          powerStops: -0.8,
          secondsSincePrevious: 1.1,
          mustFlag: [['light-short']],
          toleranceStops: 0.3,
        }),
        front('dina', 'three-quarter'),
        front('dina', 'head'),
      ],
    });
    const report = judgeMade(made, { light: 'flash' });
    expect(wrongIn(report, made)).toEqual([]);
    expect(runsOf(report)).toEqual([8]);
    expect(correctedFrames(report)[2]?.corrections[0]?.step).toBe('level');
  });

  it(
    'an aperture opened with the lamp turned down to match; ISO knocked and put back',
    { timeout: LIMIT },
    async () => {
      const open = { settings: { ...F8, fNumber: 5.6 }, powerStops: -1 };
      const knocked: Partial<PixelFrame> = {
        settings: { ...F8, iso: 200 },
        mustFlag: [['settings-changed'], ['level-off-baseline']],
      };
      const made = await makeShoot({
        prefix: 'SET_',
        frames: [
          front('ada', 'three-quarter'),
          front('ada', 'head'),
          front('ada', 'three-quarter', open),
          front('ada', 'head', open),
          front('cole', 'three-quarter'),
          front('cole', 'head', knocked),
          front('cole', 'three-quarter', knocked),
          front('cole', 'head'),
          front('cole', 'three-quarter'),
        ],
      });
      const report = judgeMade(made);
      expect(wrongIn(report, made)).toEqual([]);
      for (const i of [5, 6]) expect(report.frames[i]?.deviation.ofWhichSettingsStops).toBeCloseTo(1, 1);
      expect(report.frames[2]?.flags.map(({ code }) => code)).not.toContain('light-changed');
    },
  );

  it('a white balance that wanders off', { timeout: LIMIT }, async () => {
    const made = await makeShoot({
      prefix: 'WBD_',
      frames: [0, 2, -2, 3, 0, 1, 38, 52, 66].map((castShiftMired, i) =>
        front(i % 2 === 0 ? 'ada' : 'bea', i % 3 === 0 ? 'head' : 'three-quarter', {
          castShiftMired,
          ...(castShiftMired > 20 ? { mustFlag: [['cast-shifted'] satisfies FlagCode[]] } : {}),
        }),
      ),
    });
    const report = judgeMade(made, { light: 'flash' });
    expect(wrongIn(report, made)).toEqual([]);
    correctedFrames(report)
      .slice(6)
      .forEach(({ corrections }, i) => {
        const cast = corrections.find(({ step }) => step === 'cast');
        const off = [38, 52, 66][i] ?? NaN;
        expect((cast?.mired ?? NaN) / -off, `frame ${i + 6}`).toBeGreaterThan(0.6);
        expect((cast?.mired ?? NaN) / -off, `frame ${i + 6}`).toBeLessThan(1.4);
      });
  });

  it('the light on the background goes out', { timeout: LIMIT }, async () => {
    const out: Partial<PixelFrame> = {
      alter: (spec) => ({ ...spec, scene: { ...spec.scene, wallStops: -2.2 } }),
      mustFlag: [['background-shifted']],
    };
    const made = await makeShoot({
      prefix: 'WAL_',
      frames: [
        front('ada', 'three-quarter'),
        front('ada', 'head'),
        front('ada', 'three-quarter'),
        front('ada', 'three-quarter', out),
        front('ada', 'three-quarter'),
        front('ada', 'head'),
        front('ada', 'three-quarter', out),
        front('ada', 'head'),
        front('ada', 'three-quarter'),
      ],
    });
    expect(wrongIn(judgeMade(made, { light: 'flash' }), made)).toEqual([]);
  });

  it('sitters of other skin and other clothes under one light: no flag', { timeout: LIMIT }, async () => {
    const made = await makeShoot({
      prefix: 'SKN_',
      curve: 'soft-toe',
      frames: ['ada', 'bea', 'cole', 'dina'].flatMap((figure) => [front(figure, 'full'), front(figure, 'head')]),
    });
    const report = judgeMade(made, { light: 'flash' });
    expect(wrongIn(report, made)).toEqual([]);
    expect(report.summary.consistent).toBe(8);
  });

  it('a lamp that slowly loses power', { timeout: LIMIT }, async () => {
    const lost = (i: number): number => -0.13 * i;
    const made = await makeShoot({
      prefix: 'DRI_',
      frames: Array.from({ length: 11 }, (_, i) =>
        front('ada', i % 3 === 2 ? 'head' : 'three-quarter', { powerStops: lost(i), toleranceStops: null }),
      ),
    });
    const report = judgeMade(made, { light: 'flash' });
    const stated = report.frames.map((frame) => frame.deviation.fromSetupStops ?? NaN);
    // Wherever the set-up's level is taken to be, the frames stand to one another as the lamp did, within the tolerance.
    const wrong = stated.flatMap((stops, i) => {
      const apart = stops - (stated[0] ?? NaN) - lost(i);
      return Math.abs(apart) <= 1 / 3 ? [] : [`frame ${i} is ${apart.toFixed(2)} from where the lamp was`];
    });
    expect(wrong, stated.join(' ')).toEqual([]);
    for (const [i, { verdict }] of report.frames.entries()) {
      const size = Math.abs(stated[i] ?? NaN);
      if (size > 0.5) expect(verdict, `frame ${i}`).not.toBe('consistent');
      if (size < 0.25) expect(verdict, `frame ${i}`).toBe('consistent');
    }
    expect(report.frames.at(-1)?.verdict).not.toBe('consistent');
    for (const { flags } of report.frames) expect(flags.map(({ code }) => code)).not.toContain('settings-changed');
  });

  it(
    'aperture priority under steady lamps: only what the automation did wrong is told',
    { timeout: LIMIT },
    async () => {
      const shutters = [125, 125, 100, 125, 60, 125, 160, 125, 250, 125];
      const made = await makeShoot({
        prefix: 'APR_',
        hall: { ambientStops: -0.6, castMired: 0 },
        flashCode: 16,
        frames: shutters.map((shutterDenominator, i) =>
          front(i < 5 ? 'ada' : 'dina', i % 2 === 0 ? 'three-quarter' : 'head', {
            settings: { ...F8, shutterDenominator },
            powerStops: null,
            // Half a second of a stop is a third: at the tolerance, and so may be looked at or not.
            ...(shutterDenominator === 60 || shutterDenominator === 250
              ? { mustFlag: [['settings-changed', 'level-off-baseline'] satisfies FlagCode[]] }
              : {}),
            alter: (spec) => (spec.exif === null ? spec : { ...spec, exif: { ...spec.exif, exposureProgram: 3 } }),
          }),
        ),
      });
      const report = judgeMade(made, { toleranceStops: 0.5 });
      expect(report.summary.light.kind).toBe('continuous');
      expect(
        wrongIn(
          report,
          made.map((frame) => ({ ...frame, planned: { ...frame.planned, toleranceStops: null } })),
        ),
      ).toEqual([]);
      expect(report.frames[4]?.deviation.fromSetupStops).toBeCloseTo(1, 0);
      expect(report.frames[8]?.deviation.fromSetupStops).toBeCloseTo(-1, 0);
    },
  );

  it('a light taken to the other side and brought back', { timeout: LIMIT }, async () => {
    const side = SETUPS.find(({ id }) => id === 'side') as PlannedSetup;
    const setups: PlannedSetup[] = [
      { ...side, id: 'left', startsAtMinute: 1 },
      { ...side, id: 'right', startsAtMinute: 6 },
      { ...side, id: 'left again', startsAtMinute: 11 },
    ];
    const mirrored: Partial<PixelFrame> = {
      alter: (spec) => ({ ...spec, framing: { ...spec.framing, mirrored: true } }),
    };
    const turn = (setup: string, more: Partial<PixelFrame> = {}): PixelFrame[] => [
      at(setup, 'ada', 'three-quarter', more),
      at(setup, 'ada', 'head', more),
      at(setup, 'hana', 'three-quarter', more),
      at(setup, 'hana', 'head', more),
    ];
    const made = await makeShoot({
      prefix: 'OTH_',
      setups,
      frames: [...turn('left'), ...turn('right', mirrored), ...turn('left again')],
    });
    const report = judgeMade(made, { light: 'flash' });
    expect(wrongIn(report, made)).toEqual([]);
    expect(runsOf(report)).toEqual([4, 4, 4]);
    expect(report.setups[1]?.changeFromPrevious?.because).toContain('ight from the other side');
    expect(report.setups[2]?.description).toContain('as s1 again');
  });
});
