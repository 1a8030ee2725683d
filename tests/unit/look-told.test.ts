import { describe, expect, it } from 'vitest';
import type { LookComparison, SavedLook, StopsAgainstLook } from '../../src/contracts/look.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import { lookSentences } from '../../src/shoot/look/look-words.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { fakeReport } from '../support/report.js';

type Parts = Parameters<typeof lookSentences>[2];
type Source = ToneResponse['source'];

const NONE: Parts = { level: null, contrast: null, background: null, fallOff: null, cast: null };
const stops = (differenceStops: number, told: Partial<StopsAgainstLook> = {}): StopsAgainstLook => ({
  todayStops: 1 + differenceStops,
  lookStops: 1,
  differenceStops,
  uncertaintyStops: 0.3,
  verdict: 'off',
  ...told,
});
const response = (source: Source): ToneResponse => ({ source, slopeAtMid: 1, uncertaintyStops: 0, because: '' });
const tell = (parts: Partial<Parts>, today: ToneResponse | null = null, sources: Source[] = ['calibrated']): string[] =>
  lookSentences(
    { name: 'hall', toneResponses: sources.map((source) => ({ source, frames: 1, uncertaintyStops: 0 })) } as SavedLook,
    today,
    { ...NONE, ...parts },
    0.234,
  );
const within = stops(0.1, { verdict: 'within' });
const castOf = (differenceMired: number, differenceDuv: number | null = 0): LookComparison['cast'] => ({
  differenceMired,
  differenceDuv,
  verdict: 'off',
});

describe('how a set-up stands to a look, in words', () => {
  it('says first that nothing can be compared, or that all is as the look', () => {
    expect(tell({})).toEqual(['nothing can be compared with the look "hall".']);
    const all = { level: within, contrast: within, background: within, fallOff: within };
    expect(tell({ ...all, cast: { ...castOf(3)!, verdict: 'within' } })).toEqual([
      'as the look "hall" in all that both show.',
    ]);
  });

  it('turns the light the other way than the level is off', () => {
    expect(tell({ level: stops(-1) })).toEqual([
      "level −1.00 stop from the look's: +3 third-stop steps of light restore it.",
    ]);
    expect(tell({ level: stops(0.67, { verdict: 'check' }) })).toEqual([
      "level +0.67 stop from the look's (uncertain by 0.30: other sitters may be all of it): −2 third-stop steps of light restore it.",
    ]);
  });

  it('lights a background that stands further under the subject, and says under or over', () => {
    expect(tell({ background: stops(1, { todayStops: 2 }) })).toEqual([
      "the background stands 2.00 stops under the subject, +1.00 stop against the look's 1.00: +3 third-stop steps of light on the background restore it.",
    ]);
    expect(tell({ background: stops(-1.5, { todayStops: -0.5, verdict: 'check' }) })).toEqual([
      "the background stands 0.50 stops over the subject, −1.50 stop against the look's 1.00 (uncertain by 0.30: other sitters may be all of it): −5 third-stop steps of light on the background restore it.",
    ]);
    expect(tell({ background: stops(-1, { todayStops: 0 }) })[0]).toContain('0.00 stops under the subject');
  });

  it('more contrast wants light from the front, less wants it from the side', () => {
    expect(tell({ contrast: stops(1) })).toEqual([
      "side to side the face holds 2.00 stops for the look's 1.00: bring the light round towards the camera, or turn up the fill.",
    ]);
    expect(tell({ contrast: stops(-0.6) })[0]).toMatch(
      /0\.40 stops for .*: take the light further to the side, or turn down the fill\.$/,
    );
  });

  it('legs that get less light want the light further away and stronger, by the inverse square', () => {
    expect(tell({ fallOff: stops(0.5) })).toEqual([
      'the legs get 0.50 stops less light against the face than in the look: move the light back and turn it up, or light the legs.',
    ]);
    expect(tell({ fallOff: stops(-0.5, { verdict: 'check' }) })).toEqual([
      'the legs get 0.50 stops more light against the face than in the look (uncertain by 0.30: other sitters may be all of it): bring the light nearer and turn it down, or take light off the legs.',
    ]);
  });

  it('a warmer colour is corrected by fewer mired, a cooler one by more; tints that can be seen are told', () => {
    expect(tell({ cast: castOf(30) })).toEqual([
      "the colour is 30 mired warmer than the look's: correct by −30 mired.",
    ]);
    expect(tell({ cast: castOf(-30) })).toEqual([
      "the colour is 30 mired cooler than the look's: correct by +30 mired.",
    ]);
    expect(tell({ cast: castOf(30, 0.008) })[0]).toContain('warmer and 0.008 Duv greener than');
    expect(tell({ cast: castOf(30, -0.008) })[0]).toContain('warmer and 0.008 Duv pinker than');
    for (const duv of [0.007, null]) expect(tell({ cast: castOf(30, duv) })[0]).toContain('warmer than');
  });

  it('tells level, background, contrast, legs and colour in this order', () => {
    const parts = { level: stops(1), background: stops(1), contrast: stops(1), fallOff: stops(1), cast: castOf(30) };
    expect(tell(parts).map((text) => text.split(' ').slice(0, 2).join(' '))).toEqual([
      'level +1.00',
      'the background',
      'side to',
      'the legs',
      'the colour',
    ]);
  });

  it('says what it means where look and frames went through other responses', () => {
    const other =
      "the look was read through calibrated and learned, today's frames through assumed: a stop of difference is known to 0.23.";
    expect(tell({ level: within }, response('assumed'), ['calibrated', 'learned'])).toEqual([
      'as the look "hall" in all that both show.',
      other,
    ]);
    expect(tell({ level: within }, response('learned'), ['calibrated', 'learned'])).toHaveLength(1);
    expect(tell({ level: within }, null, [])).toHaveLength(1);
    expect(tell({ level: within }, response('assumed'), [])[1]).toContain('through an unknown tone response,');
  });
});

describe('a set-up kept as a look', () => {
  const report = fakeReport([
    ...['F1', 'F2'].map((name) => ({ name, setup: 's1' })),
    ...['F3', 'F4', 'F5'].map((name) => ({ name, setup: 's2' })),
    ...['F6', 'F7', 'F8'].map((name) => ({ name, setup: 's3' })),
  ]);
  const setups = ['s1', 's2', 's3'].map((id) => ({
    ...report.setups[0]!,
    id,
    frames: report.frames.filter(({ setup }) => setup === id).map(({ name }) => name),
    sitters: id === 's2' ? [{ id: 'p1', frames: [], faceLevelStops: 0, spreadStops: 0 }] : [],
    baseline: { ...report.setups[0]!.baseline, fNumber: id === 's2' ? 8 : 4, exposureTimeSeconds: 1 / 60, iso: 400 },
  }));
  const responses: ToneResponse[] = [
    { ...response('learned'), uncertaintyStops: 0.1 },
    { ...response('assumed'), uncertaintyStops: 0.2 },
    { ...response('learned'), uncertaintyStops: 0.05 },
    response('none'),
    response('assumed'),
    response('scene'),
  ];
  const frames = report.frames.map((frame) => ({
    ...frame,
    toneResponse: frame.setup === 's1' ? null : (responses[Number(frame.name.slice(1)) - 3] ?? null),
  }));
  const shoot = { ...report, setups, frames };

  it('is the largest, the first of two of one size, or the one that is named', () => {
    expect(lookOf(shoot, 'hall')).toMatchObject({
      schemaVersion: 1,
      kind: 'look',
      name: 'hall',
      frames: 3,
      sitters: 1,
      light: report.summary.light.kind,
      settings: { fNumber: 8, exposureTimeSeconds: 1 / 60, iso: 400 },
      measuringVersions: report.shoot.measuringVersions,
      figures: setups[1]!.figures,
    });
    expect(lookOf(shoot, 'hall', 's1')).toMatchObject({ frames: 2, sitters: null, settings: { fNumber: 4 } });
  });

  it('tells each tone response once, with the worst that is known of it', () => {
    expect(lookOf(shoot, 'hall').toneResponses).toEqual([
      { source: 'assumed', frames: 1, uncertaintyStops: 0.2 },
      { source: 'learned', frames: 2, uncertaintyStops: 0.1 },
    ]);
    expect(lookOf(shoot, 'hall', 's3').toneResponses.map(({ source }) => source)).toEqual(['assumed', 'none', 'scene']);
    expect(lookOf(shoot, 'hall', 's1').toneResponses).toEqual([]);
  });

  it('has to be there', () => {
    expect(() => lookOf(shoot, 'hall', 's9')).toThrow(
      'Expected a set-up of this shoot (s1, s2, s3) to save as a look but received "s9"',
    );
    for (const id of [undefined, 's1'])
      expect(() => lookOf({ ...shoot, setups: [] }, 'hall', id)).toThrow(
        'no look can be saved: no frame could be measured, so there is no set-up',
      );
  });
});
