import { describe, expect, it } from 'vitest';
import type { PlanCompliance } from '../../src/contracts/compliance.js';
import type { LookComparison } from '../../src/contracts/look.js';
import { ShootPlan, type ShootPlanInput } from '../../src/contracts/plan.js';
import type { CameraClock, FlagCode, ReportFrame, Setup, ShootSummary } from '../../src/contracts/report.js';
import { cautionsFor, isMixed, mixedLightCaution } from '../../src/shoot/cautions.js';
import type { LightKindDecision } from '../../src/shoot/light-kind.js';
import { measuringVersionsOf, versionCautions } from '../../src/shoot/measured-with.js';
import { summarise } from '../../src/shoot/summary.js';
import { withNotes } from '../../src/shoot/summary-notes.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeFlag, fakeReport, fakeReportFrame } from '../support/report.js';

const FLASH: LightKindDecision = { kind: 'flash', shutterWeight: 0, usualTv: 7, because: 'The plan says so.' };
const CONTINUOUS: LightKindDecision = { ...FLASH, kind: 'continuous', shutterWeight: 1 };
const response = (
  frame: ReportFrame,
  toneResponse: Partial<NonNullable<ReportFrame['toneResponse']>> | null,
): ReportFrame => ({
  ...frame,
  toneResponse: toneResponse === null ? null : { ...frame.toneResponse!, ...toneResponse },
});
const summaryOf = (frames: readonly ReportFrame[], light = FLASH, versions: string[] = []) =>
  summarise(frames, [], { lightKind: light, clocks: [], otherRenderings: [] }, versions);
const WELL = fakeReportFrame({ name: 'W.jpg' });

describe('cautions', () => {
  const cautions = (codes: FlagCode[], light = FLASH) => cautionsFor(new Set(codes), light);

  it('stand with every advice that touches a light, and with no other', () => {
    const touching: FlagCode[] = [
      'light-changed',
      'light-missing',
      'light-short',
      'lower-body-dark',
      'background-shifted',
      'contrast-shifted',
      'face-dark',
      'face-bright',
    ];
    for (const code of touching) expect(cautions([code]).length).toBeGreaterThanOrEqual(4);
    for (const code of ['settings-changed', 'cast-shifted', 'no-face'] as const) expect(cautions([code])).toEqual([]);
    expect(cautions([])).toEqual([]);
  });

  it('are of stands and heat for every light, of eyes for flash, of flicker for lamps', () => {
    const [stands, heat, eyes, last] = cautions(['face-dark']);
    expect([stands, heat, eyes]).toEqual([
      expect.stringMatching(/weigh down the stand/),
      expect.stringMatching(/stay hot/),
      expect.stringMatching(/never fire close to eyes/),
    ]);
    expect(last).toMatch(/^Local rules and the advice of qualified people/);
    const lamps = cautions(['face-dark'], CONTINUOUS);
    expect(lamps[2]).toMatch(/flicker can trouble photosensitive people/);
    expect(lamps).toHaveLength(4);
    expect(lamps[3]).toBe(last);
  });

  it('warn of the voltage inside a flash that fails, and only of a flash', () => {
    for (const code of ['light-missing', 'light-short'] as const) {
      expect(cautions([code])[3]).toMatch(/dangerous voltage even when unplugged: do not open it/);
      expect(cautions([code], CONTINUOUS).join()).not.toContain('voltage');
    }
  });

  it('on mixed light tell the share of ambient', () => {
    expect([0, 0.3, 1].map((shutterWeight) => isMixed({ shutterWeight }))).toEqual([false, true, false]);
    expect(mixedLightCaution({ shutterWeight: 0.3 })[0]).toMatch(/^30 % of the light is ambient beside the flash/);
    expect([...mixedLightCaution({ shutterWeight: 0 }), ...mixedLightCaution({ shutterWeight: 1 })]).toEqual([]);
  });
});

describe('with what the frames were measured', () => {
  const by = (measuringVersion: string, measuredWith?: Record<string, string>) => ({
    ...fakeMeasurement({ measuringVersion }),
    ...(measuredWith === undefined ? {} : { measuredWith }),
  });

  it('is each version once, in order; more than one is to be minded', () => {
    expect(measuringVersionsOf([by('2'), by('1'), by('2')])).toEqual(['1', '2']);
    expect(versionCautions([by('2'), by('2')])).toEqual([]);
    expect(versionCautions([])).toEqual([]);
    expect(versionCautions([by('3'), by('1'), by('2')])).toEqual([
      expect.stringMatching(/^The frames were measured by measuring versions 1, 2 and 3, which may give other numbers/),
    ]);
  });

  it('is each library whose versions differ, what is no library aside', () => {
    const a = by('1', { sharp: '0.35', libraw: '1.6', node: '20', stopledger: '0.1' });
    const b = by('1', { sharp: '0.34', libraw: '1.5', node: '22', stopledger: '0.2' });
    expect(versionCautions([a, b, by('1')])).toEqual([
      expect.stringContaining('(libraw 1.5 and 1.6; sharp 0.34 and 0.35)'),
    ]);
    expect(versionCautions([a, a])).toEqual([]);
    expect(versionCautions([by('1', { node: '20' }), by('1', { node: '22' })])).toEqual([]);
  });
});

describe('the summary', () => {
  it('counts verdicts and flags, notes among them', () => {
    const frames = [
      WELL,
      fakeReportFrame({
        name: 'A',
        verdict: 'check',
        flags: [fakeFlag('face-dark', 'check', 'x'), fakeFlag('no-face', 'note', 'x')],
      }),
      fakeReportFrame({ name: 'B', verdict: 'off', flags: [fakeFlag('face-dark', 'fault', 'x')] }),
      fakeReportFrame({ name: 'C', verdict: 'unreadable' }),
    ];
    expect(summaryOf(frames)).toMatchObject({
      frames: 4,
      consistent: 1,
      check: 1,
      off: 1,
      unreadable: 1,
      consistentShare: 0.25,
      flagCounts: { 'face-dark': 2, 'no-face': 1, unreadable: 1 },
    });
    expect(summaryOf([]).consistentShare).toBe(0);
  });

  it('tells the light, and the share of ambient only where it is mixed', () => {
    expect(summaryOf([WELL]).light).toEqual({
      kind: 'flash',
      shutterWeight: 0,
      ambientShare: null,
      because: 'The plan says so.',
    });
    const mixed = summaryOf([WELL], { ...FLASH, shutterWeight: 0.25 });
    expect(mixed.light.ambientShare).toBe(0.25);
    expect(mixed.cautions[0]).toMatch(/^25 % of the light is ambient/);
  });

  it('minds versions first, and cautions for flags that are more than notes', () => {
    const of = (severity: 'note' | 'check') =>
      summaryOf([fakeReportFrame({ name: 'A', flags: [fakeFlag('face-dark', severity, 'x')] })], FLASH, ['versions'])
        .cautions;
    expect(of('note')).toEqual(['versions']);
    expect(of('check')).toHaveLength(5);
    expect(of('check')[0]).toBe('versions');
  });

  it('tells through which responses the levels went, the worst of each', () => {
    expect(summaryOf([response(WELL, null)]).toneResponse).toBe('No frame was measured.');
    expect(summaryOf([response(WELL, { source: 'scene', uncertaintyStops: 0.01 })]).toneResponse).toBe(
      'Levels went through raw, proportional to light (1 frame, uncertain by 0.01 stop in each stop of difference); the uncertainty widens what is called a fault.',
    );
    const text = summaryOf([
      response(WELL, { source: 'none', uncertaintyStops: 0.2 }),
      response(WELL, { source: 'assumed', uncertaintyStops: 0.11 }),
      response(WELL, { source: 'assumed', uncertaintyStops: 0.1 }),
      response(WELL, { source: 'learned', uncertaintyStops: 0.04 }),
      response(WELL, { source: 'calibrated', uncertaintyStops: 0.02 }),
    ]).toneResponse;
    expect(text.replace(/^Levels went through (.*); the uncertainty.*$/, '$1').split('; ')).toEqual([
      'an assumed camera curve (2 frames, uncertain by 0.11 stop in each stop of difference)',
      "fitted to a bracket of this camera's (1 frame, uncertain by 0.02 stop in each stop of difference)",
      'learned in this shoot (1 frame, uncertain by 0.04 stop in each stop of difference)',
      'plain files without a camera curve (1 frame, uncertain by 0.20 stop in each stop of difference)',
    ]);
    expect(summaryOf([response(WELL, { source: 'assumed', uncertaintyStops: 0.35 })]).toneResponse).toContain(
      'an assumed camera curve on files of phones and other cameras that brighten and darken parts of a picture by themselves',
    );
  });
});

describe('the notes of a summary', () => {
  const clock = { because: 'The clock of B runs ahead.' } as CameraClock;
  const base: Omit<ShootSummary, 'notes'> = {
    ...fakeReport([{ name: 'x' }]).summary,
    clocks: [clock],
    cautions: ['first'],
  };
  const setup = (id: string, look: Partial<LookComparison> | null): Setup => ({
    ...fakeReport([{ name: 'x' }]).setups[0]!,
    id,
    look: look === null ? null : ({ verdict: 'within', because: ['as the look.'], ...look } as LookComparison),
  });
  const compliance = (told: Partial<PlanCompliance>): PlanCompliance =>
    ({ verdict: 'off-plan', level: null, because: ['Off by a stop.'], ...told }) as PlanCompliance;
  const level = (thirdStopSteps: number) => ({ thirdStopSteps }) as PlanCompliance['level'];
  const notes = (plan: ShootPlanInput = {}, setups: Setup[] = [], planned: PlanCompliance[] = []) =>
    withNotes(base, ShootPlan.parse(plan), setups, planned, FLASH, [
      { name: 'x', measurement: fakeMeasurement({ camera: 'Hall' }), failure: null, measurementHref: null },
      { name: 'y', measurement: null, failure: null, measurementHref: null },
    ]);

  it('are of finished exports, clocks, the plan and looks, in this order', () => {
    const cameraClocks = ['Hall', 'Gable'].map((camera) => ({ camera, aheadSeconds: 60 }));
    const all = notes({ finished: true, cameraClocks }, [setup('s1', {}), setup('s2', null)], [compliance({})]);
    expect(all.notes).toEqual([
      expect.stringMatching(/^Finished exports: /),
      'The clock of B runs ahead.',
      'No frame is of Gable, whose clock the plan tells.',
      'Off by a stop.',
      's1: as the look.',
    ]);
    expect(notes().notes).toEqual(['The clock of B runs ahead.']);
    expect(all.cautions).toEqual(['first']);
  });

  it('add cautions, each once, where plan or look asks to turn a light', () => {
    const advised = (setups: Setup[], planned: PlanCompliance[]) => notes({}, setups, planned).cautions.length > 1;
    expect(advised([setup('s1', { verdict: 'check' })], [])).toBe(true);
    expect(advised([setup('s1', { verdict: 'off' })], [])).toBe(true);
    expect(advised([setup('s1', { verdict: 'within' }), setup('s2', { verdict: null }), setup('s3', null)], [])).toBe(
      false,
    );
    expect(advised([], [compliance({ level: level(2) })])).toBe(true);
    expect(advised([], [compliance({ level: level(0) })])).toBe(false);
    expect(advised([], [compliance({ level: level(2), verdict: 'as-planned' })])).toBe(false);
    expect(advised([], [compliance({ level: null })])).toBe(false);
    const twice = withNotes(
      { ...base, cautions: cautionsFor(new Set(['light-changed'] as const), FLASH) },
      ShootPlan.parse({}),
      [setup('s1', { verdict: 'off' })],
      [],
      FLASH,
      [],
    );
    expect(new Set(twice.cautions).size).toBe(twice.cautions.length);
  });
});
