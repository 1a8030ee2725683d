import { describe, expect, it } from 'vitest';
import type { CameraClock, Flag, FlagCode, ReportFrame, Setup, Severity } from '../../src/contracts/report.js';
import { findingsOf } from '../../src/shoot/findings.js';
import { clockFindings, setupFindings, weightOf } from '../../src/shoot/setup-findings.js';
import { fakeReport, fakeReportFrame } from '../support/report.js';

const flag = (code: FlagCode, stops?: number, severity: Severity = 'fault'): Flag => ({
  code,
  severity,
  because: 'told',
  ...(stops === undefined ? {} : { stops }),
});
const frame = (name: string, flags: Flag[] = [], setup = 's1'): ReportFrame =>
  fakeReportFrame({ name, setup, flags, verdict: flags.length === 0 ? 'consistent' : 'off' });
const WELL = frame('W1.jpg');
/** What one kind of flag says, with a frame that is consistent beside it. */
const told = (code: FlagCode, ...stops: (number | undefined)[]): string[] =>
  findingsOf([WELL, ...stops.map((by, i) => frame(`F${i + 1}.jpg`, [flag(code, by)]))], []);

describe('a finding', () => {
  it('says what is off, in which frames of which set-up, by how much and what undoes it', () => {
    expect(told('settings-changed', 1)).toEqual([
      'Camera settings were changed in F1.jpg (s1): 1.00 stop brighter, −3 third-stop steps undo it.',
    ]);
    expect(told('light-changed', -0.33)).toEqual([
      'The light changed in F1.jpg (s1) and the settings did not follow: 0.33 stops darker, +1 third-stop step undoes it.',
    ]);
    expect(told('light-missing', -3.5)).toEqual([
      'The flash did not fire in F1.jpg (s1): 3.50 stops darker; shoot again or leave out, and check trigger and batteries.',
    ]);
    expect(told('light-short', -0.5, -0.7)).toEqual([
      'The flash was short of charge in F1.jpg, F2.jpg (s1): 0.60 stops darker in the median; leave more time between frames.',
    ]);
    expect(told('face-dark', -0.5)).toEqual([
      "The face is darker than in the same sitter's other frames in F1.jpg (s1): 0.50 stops darker.",
    ]);
    expect(told('face-bright', 0.5)).toEqual([
      "The face is brighter than in the same sitter's other frames in F1.jpg (s1): 0.50 stops brighter.",
    ]);
    expect(told('background-shifted', 0.5)[0]).toMatch(
      /^The background stands differently to the subject in .*: 0\.50 stops brighter\.$/,
    );
    expect(told('contrast-shifted', 1.2)[0]).toMatch(/^Side-to-side contrast is off in .*: 1\.20 stops more\.$/);
    expect(told('contrast-shifted', -1.2)[0]).toMatch(/: 1\.20 stops less\.$/);
    expect(told('settings-off-plan', 1)[0]).toMatch(/^Settings are not the plan's in .*: 1\.00 stop brighter\.$/);
    expect(told('level-off-baseline', -1)[0]).toMatch(/^The level is off its baseline in .*: 1\.00 stop darker\.$/);
  });

  it('of what has no stops names the frames', () => {
    expect(told('face-clipped', undefined)).toEqual([
      'Faces are clipped in F1.jpg (s1): nothing brings that back, so use less light or less exposure.',
    ]);
    expect(told('cast-shifted', undefined)).toEqual(['The colour of the light is off in F1.jpg (s1).']);
    expect(told('highlights-clipped', undefined)).toEqual(['Highlights are lost in F1.jpg (s1).']);
    expect(told('blacks-clipped', undefined)).toEqual(['Shadows are lost in F1.jpg (s1).']);
    expect(told('level-off-baseline', undefined)[0]).toContain(': see the frames.');
    expect(told('settings-changed', undefined)[0]).toBe('Camera settings were changed in F1.jpg (s1): see the frames.');
  });

  it('of dark legs tells by how much against the face, in the median of several', () => {
    expect(told('lower-body-dark', -1.2)[0]).toBe(
      'The lower body gets too little light in F1.jpg (s1): 1.20 stops too dark against the face.',
    );
    expect(told('lower-body-dark', -1.2, -0.8, -1)[0]).toContain(
      ': 1.00 stop too dark against the face in the median.',
    );
    expect(told('lower-body-dark', undefined)[0]).toContain(': see the frames.');
  });

  it('of frames that are off both ways tells from where to where, and no one correction', () => {
    expect(told('settings-changed', 1, -0.5)[0]).toBe(
      'Camera settings were changed in F1.jpg, F2.jpg (s1): −0.50 to +1.00 stop.',
    );
    expect(told('settings-changed', 0.1, -0.1)[0]).toContain(': −0.10 to +0.10 stop.');
  });

  it('of frames within a third of a stop of each other tells what undoes it in all', () => {
    expect(told('settings-changed', 1, 1.3)[0]).toContain(
      '1.15 stops brighter in the median, −3 third-stop steps undo it.',
    );
    expect(told('settings-changed', 1, 4 / 3)[0]).toContain(' undo it.');
    expect(told('settings-changed', 1, 1.4)[0]).toMatch(/1\.20 stops brighter in the median\.$/);
    expect(told('light-changed', -1, -1.3)[0]).toContain('+3 third-stop steps undo it.');
  });

  it('names four set-ups, and counts more', () => {
    const of = (count: number) =>
      findingsOf(
        [WELL, ...Array.from({ length: count }, (_, i) => frame(`F${i}.jpg`, [flag('cast-shifted')], `s${i + 1}`))],
        [],
      )[0];
    expect(of(4)).toContain('(s1, s2, s3, s4)');
    expect(of(5)).toContain('(5 set-ups)');
  });
});

describe('what is told first', () => {
  it('faults count three times what is to be looked at, and more by how far they are off, to three stops', () => {
    expect(weightOf('fault', 1)).toBe(6);
    expect(weightOf('check', -1)).toBe(2);
    expect(weightOf('fault', -5)).toBe(12);
    expect(weightOf('check', undefined)).toBe(1.5);
  });

  it('three findings at most, the heaviest first, and equals in order of what spoils most', () => {
    const frames = [
      frame('A.jpg', [flag('blacks-clipped')]),
      frame('B.jpg', [flag('cast-shifted')]),
      frame('C.jpg', [flag('light-missing', -4)]),
      frame('D.jpg', [flag('face-clipped')]),
      frame('E.jpg', [flag('face-clipped')]),
      frame('F.jpg', [flag('light-short', -0.5, 'check')]),
    ];
    const heads = findingsOf(frames, []).map((sentence) => sentence.split(' in ')[0]);
    expect(heads).toEqual(['The flash did not fire', 'Faces are clipped', 'The colour of the light is off']);
  });

  it('notes are no findings, and of two flags of one code the first one counts', () => {
    expect(findingsOf([WELL, frame('F.jpg', [flag('blacks-clipped', undefined, 'note')])], [])).toEqual([]);
    expect(told('no-face')).toEqual(['All 1 frames are consistent in 0 set-ups.']);
  });

  it('a level that a cause explains is not told again; settings that were changed are not told as off the plan', () => {
    const cause: FlagCode[] = [
      'light-missing',
      'settings-changed',
      'light-changed',
      'light-short',
      'face-dark',
      'face-bright',
    ];
    for (const code of cause)
      expect(findingsOf([WELL, frame('F.jpg', [flag('level-off-baseline', 1), flag(code, 1)])], [])).toHaveLength(1);
    const noted = [flag('level-off-baseline', 1), flag('light-changed', 1, 'note')];
    expect(findingsOf([WELL, frame('F.jpg', noted)], [])[0]).toMatch(/^The level is off/);
    const level = [flag('level-off-baseline', 1), flag('cast-shifted')];
    expect(findingsOf([WELL, frame('F.jpg', level)], [])).toHaveLength(2);
    const planned = (severity: Severity) => [flag('settings-off-plan', 1), flag('settings-changed', 1, severity)];
    expect(findingsOf([WELL, frame('F.jpg', planned('check'))], [])).toHaveLength(1);
    expect(findingsOf([WELL, frame('F.jpg', planned('note'))], [])[0]).toMatch(/^Settings are not the plan's/);
  });

  it('frames that could not be read come last, where there is room', () => {
    const unread = (name: string) => fakeReportFrame({ name, verdict: 'unreadable' });
    expect(findingsOf([WELL, unread('U1.jpg'), unread('U2.jpg')], [])).toEqual([
      '2 of 3 could not be read: U1.jpg, U2.jpg.',
    ]);
    const full = ['cast-shifted', 'face-clipped', 'blacks-clipped'].map((code, i) =>
      frame(`F${i}.jpg`, [flag(code as FlagCode)]),
    );
    expect(findingsOf([...full, unread('U1.jpg')], []).join()).not.toContain('could not be read');
    expect(findingsOf([...full.slice(1), unread('U1.jpg')], [])[2]).toContain('could not be read');
  });
});

const setupOf = (id: string, names: string[], more: Partial<Setup> = {}): Setup => ({
  ...fakeReport([{ name: 'x' }]).setups[0]!,
  id,
  frames: names,
  ...more,
});
const DRIFT = (firstFrame: string, lastFrame: string): Setup['drift'] => ({
  stopsPer100Frames: 1,
  errorStopsPer100Frames: 0.1,
  totalStops: 0.4,
  firstFrame,
  lastFrame,
  witnesses: 'both',
  because: 'The light drifts.',
});
const AUTOMATION: Setup['automation'] = {
  frames: 5,
  settings: ['ISO'],
  program: null,
  spreadStops: 0.2,
  rangeStops: 0.6,
  lightSpreadStops: 0.05,
  because: 'The camera set the ISO anew.',
};

describe('findings of whole set-ups and of clocks', () => {
  const names = ['F1.jpg', 'F2.jpg', 'F3.jpg', 'F4.jpg'];
  const judged = (flags: (name: string) => Flag[]) => new Map(names.map((name) => [name, frame(name, flags(name))]));

  it('a drift tells its own frames only, each that is out of tolerance by it', () => {
    const found = setupFindings(
      [setupOf('s1', names, { drift: DRIFT('F2.jpg', 'F3.jpg') })],
      judged(() => [flag('light-changed', 0.5)]),
    );
    expect(found).toEqual([
      {
        weight: 0.5 + 2 * 4.5,
        sentence: 's1: The light drifts. Out of tolerance by it: F2.jpg, F3.jpg.',
        told: new Set(['light-changed|F2.jpg', 'light-changed|F3.jpg']),
      },
    ]);
  });

  it('matters a little where no frame is out of tolerance yet', () => {
    const found = (severity: Severity, code: FlagCode) =>
      setupFindings(
        [setupOf('s1', names, { drift: DRIFT('F1.jpg', 'F4.jpg') })],
        judged(() => [flag(code, 1, severity)]),
      );
    for (const [severity, code] of [
      ['note', 'light-changed'],
      ['fault', 'cast-shifted'],
    ] as const)
      expect(found(severity, code)).toEqual([
        { weight: 0.5, sentence: 's1: The light drifts. No frame is out of tolerance by it.', told: new Set() },
      ]);
    expect(setupFindings([setupOf('s1', names, { drift: DRIFT('F1.jpg', 'F4.jpg') })], new Map())[0]!.weight).toBe(0.5);
    expect(setupFindings([setupOf('s1', names)], new Map())).toEqual([]);
  });

  it('an exposure that wandered tells all frames whose settings changed', () => {
    const setup = setupOf('s2', names, { automation: AUTOMATION, drift: DRIFT('F1.jpg', 'F1.jpg') });
    const found = setupFindings(
      [setup],
      judged((name) => (name === 'F2.jpg' ? [flag('settings-changed', 1, 'check')] : [])),
    );
    expect(found.map(({ sentence }) => sentence)).toEqual([
      's2: The light drifts. No frame is out of tolerance by it.',
      's2: The camera set the ISO anew. Out of tolerance by it: F2.jpg.',
    ]);
    expect(found[1]!.weight).toBe(2.5);
  });

  it('what a set-up told of a frame is not told again of the frame', () => {
    const frames = names.map((name, i) => frame(name, i === 0 ? [] : [flag('light-changed', 0.5)]));
    const findings = findingsOf(frames, [setupOf('s1', names, { drift: DRIFT('F2.jpg', 'F3.jpg') })]);
    expect(findings).toEqual([
      's1: The light drifts. Out of tolerance by it: F2.jpg, F3.jpg.',
      'The light changed in F4.jpg (s1) and the settings did not follow: 0.50 stops brighter, −2 third-stop steps undo it.',
    ]);
  });

  it('clocks that were found to be off are told, others not', () => {
    const clock = (from: CameraClock['from'], aheadSeconds: number | null): CameraClock => ({
      camera: 'B',
      against: 'A',
      frames: 9,
      from,
      aheadSeconds,
      uncertaintySeconds: 1,
      because: `${from} ${aheadSeconds}`,
    });
    const clocks = [clock('found', 60), clock('found', 0), clock('plan', 60), clock('unknown', null)];
    expect(clockFindings(clocks)).toEqual([{ weight: 4, sentence: 'found 60', told: new Set() }]);
    expect(findingsOf([WELL, frame('F.jpg', [flag('cast-shifted', undefined, 'check')])], [], clocks)[0]).toBe(
      'found 60',
    );
    expect(findingsOf([WELL], [], clocks)).toEqual(['All 1 frames are consistent in 0 set-ups.', 'found 60']);
  });
});

describe('a shoot that is all well', () => {
  it('is said to be, with the spread about its baselines', () => {
    const spread = (subjectSpreadStops: number | null) =>
      setupOf('s1', [], { baseline: { ...fakeReport([{ name: 'x' }]).setups[0]!.baseline, subjectSpreadStops } });
    const frames = [WELL, frame('F.jpg')];
    expect(findingsOf(frames, [spread(0.06)])).toEqual([
      'All 2 frames are consistent in 1 set-up, spread 0.06 stops about the baselines.',
    ]);
    expect(findingsOf(frames, [spread(0.1), spread(0.2), spread(0.6)])[0]).toContain('3 set-ups, spread 0.20 stops');
    expect(findingsOf(frames, [spread(null)])).toEqual(['All 2 frames are consistent in 1 set-up.']);
  });

  it('still tells habits, three sentences at most', () => {
    const setups = ['s1', 's2', 's3'].map((id) => setupOf(id, ['W1.jpg'], { automation: AUTOMATION }));
    const findings = findingsOf([WELL], setups);
    expect(findings).toHaveLength(3);
    expect(findings[1]).toBe('s1: The camera set the ISO anew. No frame is out of tolerance by it.');
  });

  it('is not said of no frames', () => {
    expect(findingsOf([], [])).toEqual(['No frames were judged.']);
  });
});
