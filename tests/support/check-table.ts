import { expect, it } from 'vitest';

export interface ReferenceRow<Args extends readonly unknown[]> {
  args: Args;
  expected: number;
  /** Largest absolute difference; follows the printed digits of the source. */
  tolerance: number;
  source: string;
}

/** One test a row: the function at the published arguments gives the published value within its tolerance. */
export function checkTable<Args extends readonly unknown[]>(
  name: string,
  fn: (...args: Args) => number | null,
  rows: readonly ReferenceRow<Args>[],
): void {
  it.each(rows.map((row) => ({ ...row, label: `${name}(${row.args.map((a) => JSON.stringify(a)).join(', ')})` })))(
    '$label is $expected ($source)',
    ({ args, expected, tolerance }) => {
      const actual = fn(...args);
      expect(actual).not.toBeNull();
      expect(Math.abs((actual ?? Number.NaN) - expected)).toBeLessThanOrEqual(tolerance);
    },
  );
}

/** Rows of one source and one tolerance, written [args, expected]. */
export function rows<Args extends readonly unknown[]>(
  source: string,
  tolerance: number,
  pairs: readonly (readonly [Args, number])[],
): ReferenceRow<Args>[] {
  return pairs.map(([args, expected]) => ({ args, expected, tolerance, source }));
}
