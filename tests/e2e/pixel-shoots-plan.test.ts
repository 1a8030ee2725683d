import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { castGains } from '../../samples/make/cast.js';
import { SETUPS, type PlannedSetup } from '../../samples/make/scenario.js';
import { linearToSrgbCode8 } from '../../samples/make/sensor.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { correctedFrames } from '../../src/render/corrected-frames.js';
import type { ShootPlanInput } from '../../src/contracts/plan.js';
import { ASSUMED_CAMERA_CURVE } from '../../src/photometry/tone-response.js';
import { srgbCode8ToLinear } from '../../src/photometry/srgb.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import {
  at,
  judgeMade,
  makeShoot,
  measureFile,
  wrongIn,
  type MadeFrame,
  type PixelFrame,
} from '../support/pixel-shoot.js';

/* Plans, looks, finished exports and corrections on pixels; the shoots are made once and judged in several ways. */
const LIMIT = 300_000;
/** A set-up of the makers' day, as far under the reading as the lit cheek from the side needs. */
const under = (wanted: string): PlannedSetup => ({
  ...(SETUPS.find(({ id }) => id === wanted) as PlannedSetup),
  underReadingStops: 0.85,
});
const F56 = { fNumber: 5.6, iso: 100 };

describe.skipIf(!STUDIO_PRESENT)('pixel shoots with a plan (skipped where ../shared is absent)', () => {
  /** The light from the front, then walked round to 45 degrees and metered a stop lower. */
  let day: MadeFrame[];
  let folder: string;
  beforeAll(async () => {
    const turn = (setup: string): PixelFrame[] =>
      ['ada', 'dina'].flatMap((figure) => [
        at(setup, figure, 'three-quarter'),
        at(setup, figure, 'head'),
        at(setup, figure, setup === 'front' ? 'full' : 'three-quarter'),
      ]);
    folder = await mkdtemp(join(tmpdir(), 'stopledger-day-'));
    const frames = [...turn('front'), ...turn('side')];
    day = await makeShoot({ prefix: 'DAY_', setups: [under('front'), under('side')], frames }, folder);
  }, LIMIT);
  afterAll(() => rm(folder, { recursive: true, force: true }));

  const plan = (second: { fNumber: number; iso: number }): ShootPlanInput => ({
    light: 'flash',
    setups: [
      { name: 'front', frames: { first: 'DAY_0001.jpg', last: 'DAY_0006.jpg' }, reading: { fNumber: 8, iso: 100 } },
      { name: 'side', times: { from: '2026-05-16T10:15:00', until: '2026-05-16T10:40:00' }, reading: second },
    ],
  });

  it('as metered: everything is as planned, no flag', () => {
    const report = judgeMade(day, plan(F56));
    expect(wrongIn(report, day, 0.25)).toEqual([]);
    expect(report.planCompliance.map(({ frames, verdict }) => [frames, verdict])).toEqual([
      [6, 'as-planned'],
      [6, 'as-planned'],
    ]);
    expect(report.planCompliance[1]?.level?.measuredStops).toBeCloseTo(-1, 0);
  });

  it('a reading that is a stop off: settings and light both disagree with it', () => {
    const report = judgeMade(day, plan({ fNumber: 8, iso: 100 }));
    const [first, second] = report.planCompliance;
    expect(first?.verdict).toBe('as-planned');
    expect(second).toMatchObject({ verdict: 'off-plan', settings: { fromPlanStops: 1, thirdStopSteps: -3 } });
    expect(second?.level?.fromPlanStops).toBeLessThan(-0.6);
    expect(second?.level?.fromPlanStops).toBeGreaterThan(-1.4);
    report.frames.forEach(({ flags, deviation }, i) => {
      expect(
        flags.some(({ code }) => code === 'settings-off-plan'),
        `frame ${i}`,
      ).toBe(i >= 6);
      expect(deviation.fromPlanStops).toBeCloseTo(i >= 6 ? 1 : 0, 2);
    });
  });

  it(
    'another day, the lamp a stop down and the white balance 40 mired warm, held against the look',
    { timeout: LIMIT },
    async () => {
      const look = lookOf(judgeMade(day.slice(0, 6), { light: 'flash' }), 'hall');
      expect(judgeMade(day.slice(0, 6), { light: 'flash', look }).setups[0]?.look?.verdict).toBe('within');
      const dim = { powerStops: -1, castShiftMired: 40, toleranceStops: null };
      const other = await makeShoot({
        prefix: 'SUN_',
        setups: [under('front')],
        frames: [
          at('front', 'dina', 'three-quarter', dim),
          at('front', 'dina', 'head', dim),
          at('front', 'ada', 'head', dim),
          at('front', 'ada', 'three-quarter', dim),
        ],
      });
      const report = judgeMade(other, { light: 'flash', look });
      expect(wrongIn(report, other)).toEqual([]);
      const against = report.setups[0]?.look;
      expect(against?.verdict).toBe('off');
      expect(Math.abs((against?.level?.differenceStops ?? NaN) + 1)).toBeLessThan(0.2);
      expect(against?.lightThirdStopSteps).toBe(3);
      expect(against?.cast?.differenceMired).toBeGreaterThan(24);
      expect(against?.cast?.differenceMired).toBeLessThan(56);
      expect(against?.contrast?.verdict).toBe('within');
      for (const { corrections } of correctedFrames(report))
        expect(corrections.slice(0, 2).map(({ step, toward }) => `${step} to ${toward}`)).toEqual([
          'level to look',
          'cast to look',
        ]);
    },
  );

  it(
    'finished exports: cropped, edited, stripped of everything; the one left dark is found',
    { timeout: LIMIT },
    async () => {
      const bare: Partial<PixelFrame> = { alter: (spec) => ({ ...spec, exif: null }) };
      const cropped: Partial<PixelFrame> = {
        alter: (spec) => {
          const { x, y, width, height } = spec.framing.crop;
          const crop = { x: x + 0.1 * width, y: y + 0.02 * height, width: 0.8 * width, height: 0.8 * height };
          return { ...spec, exif: null, framing: { ...spec.framing, crop } };
        },
      };
      const made = await makeShoot({
        prefix: 'FIN_',
        curve: 'soft-shoulder',
        frames: [
          at('front', 'ada', 'three-quarter', bare),
          at('front', 'ada', 'head', cropped),
          at('front', 'ada', 'three-quarter', cropped),
          at('front', 'ada', 'three-quarter', {
            ...bare,
            powerStops: -1.2,
            mustFlag: [['level-off-baseline']],
            toleranceStops: 0.4,
          }),
          at('front', 'ada', 'head', bare),
          at('front', 'dina', 'three-quarter', bare),
          at('front', 'dina', 'head', cropped),
          at('front', 'dina', 'three-quarter', cropped),
        ],
      });
      const report = judgeMade(made, { finished: true });
      expect(wrongIn(report, made, 0.25)).toEqual([]);
      expect(report.setups).toHaveLength(1);
      for (const { flags, exposure, deviation } of report.frames) {
        expect(flags.filter(({ code }) => /settings|light-|exposure-data/.test(code))).toEqual([]);
        expect(exposure).toMatchObject({ fNumber: null, exposureTimeSeconds: null, iso: null });
        expect(deviation.ofWhichSettingsStops).toBeNull();
      }
      expect(report.summary.notes[0]).toMatch(/^Finished exports/);
    },
  );

  it('corrections made in linear light on the pixels leave the set within tolerance', { timeout: LIMIT }, async () => {
    const f8 = { fNumber: 8, shutterDenominator: 125, iso: 100 };
    const wrong: Record<number, Partial<PixelFrame>> = {
      2: { settings: { ...f8, iso: 200 }, mustFlag: [['settings-changed']] },
      3: { powerStops: -0.9, mustFlag: [['level-off-baseline']] },
      5: { castShiftMired: 45, mustFlag: [['cast-shifted']] },
    };
    const made = await makeShoot({
      prefix: 'COR_',
      frames: Array.from({ length: 8 }, (_, i) =>
        at('front', i < 5 ? 'ada' : 'dina', i % 2 === 0 ? 'three-quarter' : 'head', wrong[i]),
      ),
    });
    const before = judgeMade(made, { light: 'flash' });
    expect(wrongIn(before, made, 0.25)).toEqual([]);
    for (const i of [2, 3, 5]) {
      const { path } = made[i] as MadeFrame;
      await applyInLinearLight(path, correctedFrames(before)[i]?.corrections ?? []);
      (made[i] as MadeFrame).measurement = await measureFile(path);
    }
    // The settings in the corrected files are still those they were made with, so they are judged on what they show.
    const after = judgeMade(made, { finished: true });
    expect(after.frames.map(({ verdict }) => verdict)).toEqual(made.map(() => 'consistent'));
    for (const i of [2, 3]) expect(Math.abs(after.frames[i]?.deviation.fromSetupStops ?? NaN)).toBeLessThan(1 / 3);
  });
});

/** Makes level and cast corrections on a JPEG's pixels: camera curve undone, light multiplied, curve put back. */
async function applyInLinearLight(
  path: string,
  corrections: readonly { step: string; stops: number | null; mired: number | null }[],
): Promise<void> {
  const source = await readFile(path);
  const { data, info } = await sharp(source).raw().toBuffer({ resolveWithObject: true });
  const stops = corrections.find(({ step }) => step === 'level')?.stops ?? 0;
  const mired = corrections.find(({ step }) => step === 'cast')?.mired ?? 0;
  const gains = castGains(mired).map((gain) => gain * 2 ** stops);
  const out = Uint8Array.from(data, (code, i) =>
    linearToSrgbCode8(
      ASSUMED_CAMERA_CURVE.toFile(
        ASSUMED_CAMERA_CURVE.toScene(srgbCode8ToLinear(code)) * (gains[i % info.channels] ?? 1),
      ),
    ),
  );
  const { width, height } = info;
  const jpeg = await sharp(out, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 95, chromaSubsampling: '4:4:4' })
    .withExif({})
    .toBuffer();
  await writeFile(path, jpeg);
}
