import { expect, it } from 'vitest';
import { orientPlane } from '../../worker/measure/orient.js';

// Rows "abc / def" by Exif orientation: JEITA CP-3451 (Exif 2.2) p. 18.
it.each([
  [1, ['abc', 'def']],
  [2, ['cba', 'fed']],
  [3, ['fed', 'cba']],
  [4, ['def', 'abc']],
  [5, ['ad', 'be', 'cf']],
  [6, ['da', 'eb', 'fc']],
  [7, ['fc', 'eb', 'da']],
  [8, ['cf', 'be', 'ad']],
])('orientation %i stands %j upright', (orientation, rows) => {
  const data = Uint8Array.from(Buffer.from('abcdef', 'latin1'));
  const out = orientPlane({ data, widthPx: 3, heightPx: 2, channels: 1 }, orientation);
  const text = Buffer.from(out.data).toString('latin1');
  const got = rows.map((_, i) => text.slice(i * out.widthPx, (i + 1) * out.widthPx));
  expect(got).toEqual(rows);
  expect([out.widthPx, out.heightPx]).toEqual([rows[0]!.length, rows.length]);
});
