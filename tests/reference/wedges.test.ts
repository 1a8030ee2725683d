import { expect, it } from 'vitest';
import { CHART_PRESENT, chartRows } from '../accuracy/chart.js';
import { isMet } from '../accuracy/row.js';
import { wedgeRows } from '../accuracy/wedges.js';

it('wedges and chart greys read back as published, each within its goal', async () => {
  const rows = await wedgeRows();
  expect(rows).toHaveLength(4);
  for (const row of rows) expect(isMet(row), `${row.what}: ${row.measured} ${row.unit}, goal ${row.goal}`).toBe(true);
});

it.skipIf(!CHART_PRESENT)(
  'the greys of a real raw chart are as far apart as published (skipped where ../shared is absent)',
  async () => {
    const rows = await chartRows();
    expect(rows).toHaveLength(7);
    for (const row of rows) expect(isMet(row), `${row.what}: ${row.measured} ${row.unit}, goal ${row.goal}`).toBe(true);
  },
);
