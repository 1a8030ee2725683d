import { bracketRows } from './brackets.js';
import { cameraRegionRows } from './camera-regions.js';
import { chartRows } from './chart.js';
import { curveRows } from './curves.js';
import { detectionRows } from './detection.js';
import { regionRows } from './regions.js';
import { isMet, type AccuracyRow } from './row.js';
import { sameLightRows } from './same-light.js';
import { shootRows } from './shoot-rows.js';
import { wedgeRows } from './wedges.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';

/** `npm run accuracy`: every figure of the accuracy table, measured now, with the source of its truth. */
const only = process.argv.slice(2);
const SECTIONS: Record<string, () => Promise<AccuracyRow[]>> = {
  wedges: wedgeRows,
  curves: async () => (STUDIO_PRESENT ? curveRows() : []),
  brackets: bracketRows,
  chart: chartRows,
  detection: detectionRows,
  regions: async () => (STUDIO_PRESENT ? regionRows() : []),
  'camera-regions': cameraRegionRows,
  'same-light': sameLightRows,
  shoots: async () => shootRows(),
};

const rows: AccuracyRow[] = [];
for (const [name, measure] of Object.entries(SECTIONS)) {
  if (only.length > 0 && !only.includes(name)) continue;
  const found = await measure();
  if (found.length === 0) console.log(`(${name}: skipped, ../shared is not here)`);
  rows.push(...found);
}
let section = '';
for (const row of rows) {
  if (row.section !== section) console.log(`\n${row.section}`);
  section = row.section;
  const bound = `${row.sense === 'most' ? '≤' : '≥'} ${row.goal}`;
  console.log(
    `  ${isMet(row) ? 'met   ' : 'MISSED'} ${row.measured.toFixed(3).padStart(7)} (${bound} ${row.unit})  ${row.what}  [${row.truth}]`,
  );
}
const missed = rows.filter((r) => !isMet(r)).length;
console.log(`\n${rows.length - missed} of ${rows.length} goals met`);
