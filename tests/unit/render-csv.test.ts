import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { FRAME_COLUMNS, renderFramesCsv } from '../../src/render/csv.js';
import { fakeFlag, fakeMakersDay, fakeReport } from '../support/report.js';

const read = (csv: string): Record<string, string>[] => parse(csv, { columns: true, record_delimiter: '\r\n' });

describe('frames.csv', () => {
  it('reads back row by row with an independent parser', () => {
    const report = fakeMakersDay(42);
    const rows = read(renderFramesCsv(report));
    expect(rows.map((row) => row['name'])).toEqual(report.frames.map((frame) => frame.name));
    rows.forEach((row, i) => {
      const frame = report.frames[i];
      const stops = frame?.deviation.fromSetupStops ?? null;
      if (stops === null) expect(row['fromSetupStops']).toBe('');
      else expect(Number(row['fromSetupStops'])).toBeCloseTo(stops, 5);
      expect(row['verdict']).toBe(frame?.verdict);
    });
  });

  it('ends every record with CRLF and has as many fields in each (RFC 4180, section 2)', () => {
    const csv = renderFramesCsv(fakeMakersDay(5));
    expect(csv.endsWith('\r\n')).toBe(true);
    expect(csv.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
    const lines = parse(csv, { record_delimiter: '\r\n' });
    expect(new Set(lines.map((line) => line.length))).toEqual(new Set([FRAME_COLUMNS.length]));
  });

  it('quotes commas, quotes and line breaks in text', () => {
    const because = 'He said "two, maybe",\r\nthen left.';
    const report = fakeReport([
      { name: 'a,"b".jpg', verdict: 'check', flags: [fakeFlag('face-dark', 'check', because)] },
    ]);
    expect(read(renderFramesCsv(report))[0]).toMatchObject({ name: 'a,"b".jpg', because });
  });

  it.each(['=1+2.jpg', '+a.jpg', '-a.jpg', '@SUM(A1).jpg', '\ta.jpg', '\ra.jpg', '＝a.jpg'])(
    'puts an apostrophe before a text that a spreadsheet would run: %j',
    (name) => {
      expect(read(renderFramesCsv(fakeReport([{ name }])))[0]?.['name']).toBe(`'${name}`);
    },
  );

  it('leaves negative numbers as numbers', () => {
    const row = read(renderFramesCsv(fakeReport([{ name: 'a.jpg', fromSetupStops: -1.25 }])))[0];
    expect(row?.['fromSetupStops']).toBe('-1.25');
    expect(row?.['toBaselineStops']).toBe('1.25');
  });

  it('documents every column and gives differences in stops that name', () => {
    for (const column of FRAME_COLUMNS) expect(column.about.length).toBeGreaterThan(3);
    expect(new Set(FRAME_COLUMNS.map((column) => column.name)).size).toBe(FRAME_COLUMNS.length);
  });
});
