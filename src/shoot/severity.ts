import type { Severity } from '../contracts/report.js';

/**
 * How much a difference counts against a tolerance.
 *
 *   fault  |d| > tolerance + |d| x u + e : off even if the tone response and the noise err our way
 *   check  |d| > tolerance where two witnesses agree; |d| > tolerance + e / 2 where only one speaks; |d| > tolerance - e
 *          where d is known exactly but for rounding, so that a setting at the tolerance itself is looked at
 *
 * with u the tone response's standard uncertainty per stop and e the standard error of d. Limits are ours.
 *
 * @returns null when it is within tolerance
 */
export function severityOf(
  differenceStops: number,
  toleranceStops: number,
  uncertaintyPerStop: number,
  errorStops: number,
  witnesses: 'exact' | 'two' | 'one' = 'two',
): Severity | null {
  const size = Math.abs(differenceStops);
  if (size > toleranceStops + size * uncertaintyPerStop + errorStops) return 'fault';
  const looked = witnesses === 'exact' ? -errorStops : witnesses === 'two' ? 0 : errorStops / 2;
  return size > toleranceStops + looked ? 'check' : null;
}

const ORDER: Record<Severity, number> = { note: 0, check: 1, fault: 2 };

export function worse(a: Severity, b: Severity): Severity {
  return ORDER[a] >= ORDER[b] ? a : b;
}
