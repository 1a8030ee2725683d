import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { largestConnectedArea } from '../../worker/measure/connected-area.js';
import { Runs } from '../../worker/measure/runs.js';

const WIDE = 23;
const HIGH = 19;

/** Parts by walking from cell to cell: of each cell the first cell of its part, -1 where there is none. */
function partsPlainly(cells: readonly boolean[], reach: 0 | 1): number[] {
  const part = cells.map(() => -1);
  cells.forEach((is, first) => {
    if (!is || part[first] !== -1) return;
    const todo = [first];
    for (let cell = todo.pop(); cell !== undefined; cell = todo.pop()) {
      part[cell] = first;
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) {
          const [x, y] = [(cell % WIDE) + dx, Math.floor(cell / WIDE) + dy];
          if (x < 0 || y < 0 || x >= WIDE || y >= HIGH || (reach === 0 && dx !== 0 && dy !== 0)) continue;
          const next = y * WIDE + x;
          if (cells[next] && part[next] === -1) todo.push(next);
        }
    }
  });
  return part;
}

describe('runs of cells', () => {
  it.each([0, 1] as const)('hang together as cells do that are walked one by one, reach %d', (reach) => {
    const random = seededRandom('runs');
    for (let round = 0; round < 200; round++) {
      const share = 0.2 + 0.6 * random.uniform();
      const cells = Array.from({ length: WIDE * HIGH }, () => random.uniform() < share);
      const runs = Runs.of(
        Int32Array.from(cells.keys()).filter((i) => cells[i]!),
        WIDE,
      );
      const parts = runs.firstOfPart(reach);
      const seen = cells.map(() => -1);
      for (let run = 0; run < runs.count; run++)
        for (let x = runs.starts[run]!; x < runs.ends[run]!; x++)
          seen[runs.rows[run]! * WIDE + x] = runs.rows[parts[run]!]! * WIDE + runs.starts[parts[run]!]!;
      expect(seen).toEqual(partsPlainly(cells, reach));
    }
  });

  it('give the largest area of cells from a half on, by their shares', () => {
    const random = seededRandom('areas');
    for (let round = 0; round < 100; round++) {
      const shares = Float32Array.from({ length: WIDE * HIGH }, () =>
        random.uniform() < 0.1 ? 0.5 : random.uniform(),
      );
      const sums = new Map<number, number>();
      partsPlainly(
        [...shares].map((share) => share >= 0.5),
        0,
      ).forEach((first, i) => {
        if (first >= 0) sums.set(first, (sums.get(first) ?? 0) + shares[i]!);
      });
      const { share } = largestConnectedArea(shares, WIDE, HIGH);
      expect(share).toBeCloseTo(Math.max(...sums.values()) / shares.length, 12);
    }
  });
});
