/** One line of the accuracy table: what was tried, what came out, what was aimed at, and whose truth it is. */
export interface AccuracyRow {
  section: string;
  what: string;
  /** The figure itself, in `unit`. */
  measured: number;
  goal: number;
  unit: string;
  /** `most`: good when at or under the goal. `least`: good when at or over. */
  sense: 'most' | 'least';
  /** Where the truth comes from. */
  truth: string;
}

export function isMet(row: AccuracyRow): boolean {
  if (!Number.isFinite(row.measured)) return false;
  return row.sense === 'most' ? row.measured <= row.goal : row.measured >= row.goal;
}

export const worst = (values: readonly number[]): number => Math.max(...values.map(Math.abs));

export function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
