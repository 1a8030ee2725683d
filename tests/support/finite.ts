/** Paths of every number that JSON cannot hold (it would write null), and of every undefined. Empty when all is well. */
export function notForJson(value: unknown, path = '$'): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [`${path} is ${value}`];
  if (value === undefined) return [`${path} is undefined`];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => notForJson(inner, `${path}.${key}`));
}
