import { describe, expect, it } from 'vitest';
import { ShootPlan, type PlannedSetup } from '../../../src/contracts/plan.js';
import type { Track } from '../../../src/shoot/build-setups.js';
import { complianceOf } from '../../../src/shoot/plan/compliance.js';
import { expectedFaceToLowerBodyStops } from '../../../src/shoot/plan/expected-fall-off.js';
import type { SequenceFrame } from '../../../src/shoot/sequence.js';
import { sequenceFrame } from '../../support/frame-context.js';
import type { FakeFrame } from '../../support/measurement.js';

/* Settings by the APEX equation: a stop is f/8 to f/5.6, 1/125 s to 1/60 s, ISO 100 to 200, on the scales' exact powers of two. */
describe('a planned set-up against what was shot', () => {
  const tracksOf = (...setups: SequenceFrame[][]): Track[] => [
    {
      frames: setups.flat(),
      usualIntervalMs: null,
      setups: setups.map((frames, i) => ({ id: `s${i + 1}`, frames })),
    } as unknown as Track,
  ];
  const light = { kind: 'flash', shutterWeight: 0, usualTv: 0, because: '' } as const;
  let count = 0;
  const frame = (fake: FakeFrame = {}, told: Partial<SequenceFrame> = {}) =>
    sequenceFrame(fake, { subjectLightStops: 0.5, wallLightStops: -1, ...told }, `F${++count}`);
  const times = (n: number, fake: FakeFrame = {}, told: Partial<SequenceFrame> = {}) =>
    Array.from({ length: n }, () => frame(fake, told));

  function compliance(
    told: Partial<PlannedSetup>[],
    shots: SequenceFrame[][],
    plan: Partial<ShootPlan> = {},
    by = light,
  ) {
    const setups = told.map((one, i) => ({ name: `p${i + 1}`, ...one }));
    const plannedOf = new Map(
      shots.flatMap((frames, i) => frames.map(({ facts: { name } }) => [name, setups[i] as PlannedSetup] as const)),
    );
    return complianceOf({ ...ShootPlan.parse({}), ...plan, setups }, plannedOf, tracksOf(...shots), by);
  }

  it('by its reading: as planned, worth a look, off', () => {
    const by = (fNumber: number, odd = 0) =>
      compliance(
        [{ reading: { fNumber: 8, iso: 100 } }],
        [[...times(6, { fNumber }), ...times(odd, { fNumber: 4 })]],
      )[0];
    expect(by(8)).toMatchObject({
      name: 'p1',
      setups: ['s1'],
      frames: 6,
      verdict: 'as-planned',
      level: null,
      fallOff: null,
    });
    expect(by(8)?.settings).toEqual({
      basis: 'reading',
      asked: 'f/8, ISO 100',
      fromPlanStops: 0,
      thirdStopSteps: 0,
      framesOff: 0,
    });
    expect(by(8)?.because).toEqual(['"p1": the meter read f/8, ISO 100, and so it was set.']);
    expect(by(7.1)).toMatchObject({ verdict: 'check', settings: { thirdStopSteps: -1, framesOff: 6 } });
    expect(by(5.6)).toMatchObject({
      verdict: 'off-plan',
      settings: { fromPlanStops: 1, thirdStopSteps: -3, framesOff: 6 },
    });
    expect(by(5.6)?.because).toEqual([
      '"p1": the meter read f/8, ISO 100; it was set 1.00 stop brighter (−3 third-stop steps of exposure follow the plan); 6 of 6 frames are not set so.',
    ]);
    expect(by(11)?.because[0]).toMatch(/it was set 1\.00 stop darker/);
    expect(by(8, 1)).toMatchObject({ verdict: 'check', settings: { fromPlanStops: 0, framesOff: 1 } });
    expect(by(8, 1)?.because).toEqual([
      '"p1": the meter read f/8, ISO 100, and so it was set; 1 of 7 frames are not set so.',
    ]);
  });

  it('by its target, which goes before the reading', () => {
    const told = compliance(
      [{ target: { fNumber: 5.6 }, reading: { fNumber: 8, iso: 100 } }],
      [times(3, { fNumber: 5.6 })],
    )[0];
    expect(told).toMatchObject({ verdict: 'as-planned', settings: { basis: 'target', asked: 'f/5.6' } });
    expect(told?.because).toEqual(['"p1": f/5.6 was planned, and so it was set.']);
  });

  it('cannot tell where no frame fits, or the settings are not told, and says why', () => {
    expect(compliance([{ reading: { fNumber: 8, iso: 100 } }], [[]])[0]).toMatchObject({
      verdict: 'cannot-tell',
      frames: 0,
      because: ['No frame that could be measured fits "p1" by name and time.'],
    });
    const why = (reading: PlannedSetup['reading'], plan = {}, by: object = light, fake: FakeFrame = { iso: null }) =>
      compliance([{ reading }], [times(2, fake)], plan, by as typeof light)[0];
    expect(why({ fNumber: 8, iso: 100 })).toMatchObject({ verdict: 'cannot-tell', settings: null });
    expect(why({ fNumber: 8, iso: 100 })?.because[0]).toMatch(/: the files do not tell the settings/);
    expect(why({ fNumber: 8, iso: 100 }, { finished: true })?.because[0]).toMatch(/: finished exports are judged/);
    expect(why({ ev100: 12 })?.because[0]).toMatch(/says nothing of a flash/);
    const continuous = { ...light, shutterWeight: 1 };
    expect(why({ fNumber: 8, iso: 100 }, {}, continuous, {})?.because[0]).toMatch(/names no exposureTimeSeconds/);
    expect(why({ ev100: 12 }, {}, continuous)?.because[0]).toMatch(/: the files do not tell the settings/);
    const target = compliance([{ target: { iso: 100 } }], [times(2, { iso: null })], {}, continuous as typeof light)[0];
    expect(target?.because[0]).toMatch(/: the files do not tell the settings/);
    expect(compliance([{}], [times(2)])[0]).toMatchObject({ verdict: 'cannot-tell', settings: null, because: [] });
  });

  it('by the light on sitters who are in two: as the readings say, or more or less', () => {
    const read = [{ reading: { fNumber: 8, iso: 100 } }, { reading: { fNumber: 11, iso: 100 } }];
    // The meter asks for a stop less exposure, so there is a stop more light.
    const measured = (stops: number, told: Partial<SequenceFrame> = {}) =>
      compliance(read, [
        times(6),
        times(6, { fNumber: 11 }, { subjectLightStops: 0.5 + stops, settingsStops: -1, ...told }),
      ])[1];
    expect(measured(1)).toMatchObject({
      verdict: 'as-planned',
      level: {
        against: 'p1',
        readStops: 1,
        measuredStops: 1,
        fromPlanStops: 0,
        thirdStopSteps: 0,
        uncertaintyStops: 0.15,
      },
    });
    expect(measured(1)?.because[1]).toBe(
      'From "p1" to "p2" the readings say +1.00 stop of light, the sitters in both show +1.00 (uncertain by 0.15).',
    );
    // 1/3 + 0.15 + 0.1 of the change that the file shows, settings included.
    expect(measured(1.34)).toMatchObject({ verdict: 'check' });
    expect(measured(1.5)).toMatchObject({ verdict: 'check' });
    expect(measured(1.6)).toMatchObject({ verdict: 'off-plan', level: { fromPlanStops: 0.6, thirdStopSteps: -2 } });
    expect(measured(1.6)?.because[1]).toMatch(
      /: 0\.60 stops more than read; −2 third-stop steps of light, or a new reading\.$/,
    );
    expect(measured(0.4)?.because[1]).toMatch(/: 0\.60 stops less than read; \+2 third-stop steps of light/);
  });

  it('is not held against readings of other sitters, nor where nobody metered', () => {
    const read = [{ reading: { fNumber: 8, iso: 100 } }, { reading: { fNumber: 8, iso: 100 } }];
    const other: FakeFrame = { appearance: { torsoLogRg: 2, skinLogRg: -0.6 } };
    const apart = compliance(read, [times(6), times(6, other, { sitter: 1 })])[1];
    expect(apart).toMatchObject({ level: null, verdict: 'as-planned' });
    expect(apart?.because[1]).toMatch(/^"p2": nobody is in another metered set-up as well/);
    expect(compliance(read, [times(6), times(6)], { compareSitters: false })[1]?.level).toBeNull();
    expect(compliance(read, [times(6), times(6)], { finished: true })[1]?.level).toBeNull();
    expect(compliance([{}, read[1] as object], [times(6), times(6)])[1]).toMatchObject({
      level: null,
      because: [expect.any(String)],
    });
  });

  it('by the fall-off of its light’s place, on bare legs, never more than a check', () => {
    const place = { lightDistanceMetres: 1.5 };
    const expected = expectedFaceToLowerBodyStops(place) ?? NaN;
    const fell = (by: number | null, sitters = 1) =>
      compliance(
        [{ light: place }],
        [
          Array.from({ length: sitters }, (_, sitter) =>
            times(
              2,
              by === null
                ? {}
                : { lowerBody: { levelStops: 0, basis: 'skin', faceToLowerBodyLightStops: expected + by } },
              { sitter },
            ),
          ).flat(),
        ],
      )[0];
    expect(fell(0)).toMatchObject({ verdict: 'as-planned', fallOff: { fromPlanStops: 0 } });
    // One sitter: 0.3 of skin and 0.25 of geometry together; of nine the skin counts a third.
    expect(fell(0)?.fallOff?.uncertaintyStops).toBeCloseTo(Math.hypot(0.3, 0.25), 4);
    expect(fell(0, 9)?.fallOff?.uncertaintyStops).toBeCloseTo(Math.hypot(0.1, 0.25), 4);
    expect(fell(0.34)).toMatchObject({ verdict: 'check' });
    expect(fell(2)).toMatchObject({ verdict: 'check', fallOff: { fromPlanStops: 2 } });
    expect(fell(2)?.because[0]).toMatch(/: the light stands nearer, higher or smaller than planned/);
    expect(fell(-2)?.because[0]).toMatch(/: something else lights the legs/);
    expect(fell(0)?.because[0]).toMatch(
      /^"p1": a light 1\.5 m away gives the legs \d\.\d\d stops less than the face, measured \+\d\.\d\d \(skin against skin, all in all uncertain by 0\.39\)\.$/,
    );
    expect(fell(null)).toMatchObject({ verdict: 'cannot-tell', fallOff: null });
    expect(fell(null)?.because[0]).toMatch(/; no bare leg skin shows, so that is not checked\.$/);
  });
});
