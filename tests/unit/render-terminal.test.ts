import stringWidth from 'string-width';
import { describe, expect, it } from 'vitest';
import { fitName, wrap } from '../../src/render/text.js';
import { wantsColour } from '../../src/render/terminal-paint.js';
import { renderFindings, renderFrameTable, renderTerminalReport } from '../../src/render/terminal.js';
import { fakeFlag, fakeMakersDay, fakeReport } from '../support/report.js';

const hostile = fakeReport([
  { name: `${'very-long-folder-name__'.repeat(6)}MKD_0001.JPG`, fromSetupStops: -12.345 },
  { name: '山田太郎の肖像写真・文化祭・三月十四日の午後・広い会議室にて.jpg' },
  {
    name: 'esc\u001b[2J\u001b]0;title\u0007.jpg',
    verdict: 'off',
    flags: [fakeFlag('light-missing', 'fault', 'a\u001b[31mb')],
  },
  {
    name: 'many.jpg',
    verdict: 'off',
    flags: (
      ['level-off-baseline', 'settings-changed', 'highlights-clipped', 'face-clipped', 'lower-body-dark'] as const
    ).map((code) => fakeFlag(code, 'fault', 'because 1.00 stops')),
  },
  { name: 'gone.jpg', verdict: 'unreadable' },
]);

const linesOf = (text: string) => text.split('\n');

describe('the terminal report', () => {
  it.each([
    ['ordinary', fakeMakersDay(42)],
    ['hostile', hostile],
  ])('fits 100 columns: %s', (_, report) => {
    for (const line of linesOf(renderTerminalReport(report))) expect(stringWidth(line), line).toBeLessThanOrEqual(100);
  });

  it('fits a narrower terminal of 80 columns', () => {
    for (const line of linesOf(renderTerminalReport(hostile, { columns: 80 }))) {
      expect(stringWidth(line), line).toBeLessThanOrEqual(80);
    }
  });

  it('has one row a frame with verdict, stops and every flag that is no note', () => {
    const table = renderFrameTable(fakeMakersDay(42));
    const rows = linesOf(table).filter((line) => line.startsWith('MKD_'));
    expect(rows).toHaveLength(42);
    expect(rows[6]).toMatch(/^MKD_0007\.JPG +A +! off +-4\.80 +\+4\.80 .*light-missing$/);
    expect(table).not.toContain('lower-body-not-in-frame');
    for (const flag of hostile.frames[3]?.flags ?? []) expect(renderFrameTable(hostile)).toContain(flag.code);
  });

  it('says the verdict in words with and without colour', () => {
    const plain = renderTerminalReport(fakeMakersDay(42));
    expect(plain).not.toContain('\u001b');
    const coloured = renderTerminalReport(fakeMakersDay(42), { colour: true });
    // eslint-disable-next-line no-control-regex
    expect(coloured.replace(/\u001b\[[0-9;]*m/g, '')).toBe(plain);
    expect(coloured).not.toBe(plain);
  });

  it('tells every caution, once, under the findings and before the light', () => {
    const report = fakeMakersDay(42);
    const cautions = ['Weigh down the stand; '.repeat(8).trim(), 'Let lamps cool.'];
    const summary = { ...report.summary, cautions };
    for (const text of [renderTerminalReport({ ...report, summary }), renderFindings({ ...report, summary })]) {
      const plain = text.replace(/\s+/g, ' ');
      for (const caution of cautions) expect(plain.split(`- ${caution}`), caution).toHaveLength(2);
      const [finding = ''] = summary.findings;
      expect(plain.indexOf('Mind: - Weigh')).toBeGreaterThan(plain.indexOf(finding));
      expect(plain.indexOf('Light: ')).toBeGreaterThan(plain.indexOf('Let lamps cool.'));
    }
    expect(renderFindings({ ...report, summary: { ...summary, cautions: [] } })).not.toContain('Mind:');
  });

  it('lets no control character of a name or sentence through', () => {
    // eslint-disable-next-line no-control-regex
    expect(renderTerminalReport(hostile)).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/);
  });

  it('colours only on a terminal and not when NO_COLOR is set and not empty (no-color.org)', () => {
    expect(wantsColour({ isTTY: true }, {})).toBe(true);
    expect(wantsColour({ isTTY: true }, { NO_COLOR: '' })).toBe(true);
    expect(wantsColour({ isTTY: true }, { NO_COLOR: '0' })).toBe(false);
    expect(wantsColour({ isTTY: true }, { TERM: 'dumb' })).toBe(false);
    expect(wantsColour({}, {})).toBe(false);
  });
});

describe('fitting text', () => {
  it('keeps the start and the end of a long name', () => {
    expect(fitName('MKD_0001.JPG', 20)).toBe('MKD_0001.JPG');
    const short = fitName('village-hall-2026-MKD_0001.JPG', 18);
    expect(stringWidth(short)).toBeLessThanOrEqual(18);
    expect(short).toMatch(/^villag.*…MKD_0001\.JPG$|^v.*…\S+0001\.JPG$/);
  });

  it('wraps at spaces, cuts what is longer than a line, loses nothing', () => {
    const lines = wrap('one two three-hundred-and-sixty four', 10);
    expect(lines.every((line) => line.length <= 10)).toBe(true);
    expect(lines.join('').replaceAll(' ', '')).toBe('onetwothree-hundred-and-sixtyfour');
  });
});
