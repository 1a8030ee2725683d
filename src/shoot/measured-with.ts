import type { FrameMeasurement } from '../contracts/measurement.js';

/** Named beside the libraries, and without influence on numbers: this is what `measuringVersion` stands for. */
const NO_LIBRARY = new Set(['stopledger', 'node']);

const listed = (words: readonly string[]): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;

/** Measuring versions of these frames, each once, in order. */
export const measuringVersionsOf = (measurements: readonly FrameMeasurement[]): string[] =>
  [...new Set(measurements.map(({ measuringVersion }) => measuringVersion))].sort();

/**
 * What to mind where the frames of one shoot were not all measured by the same: other measuring versions, or other
 * versions of the libraries that decode and find people. Nothing where they were.
 */
export function versionCautions(measurements: readonly FrameMeasurement[]): string[] {
  const cautions: string[] = [];
  const versions = measuringVersionsOf(measurements);
  if (versions.length > 1) {
    cautions.push(
      `The frames were measured by measuring versions ${listed(versions)}, which may give other numbers for the same light: small differences between frames of different versions mean nothing.`,
    );
  }
  const byLibrary = new Map<string, Set<string>>();
  for (const { measuredWith = {} } of measurements) {
    for (const [name, version] of Object.entries(measuredWith)) {
      if (!NO_LIBRARY.has(name)) byLibrary.set(name, (byLibrary.get(name) ?? new Set()).add(version));
    }
  }
  const mixed = [...byLibrary].filter(([, found]) => found.size > 1).map(([name, found]) => `${name} ${listed([...found].sort())}`); // prettier-ignore
  if (mixed.length > 0) {
    cautions.push(
      `The frames were measured with different versions of a library (${mixed.sort().join('; ')}), which may decode a file a little differently: update all workers together.`,
    );
  }
  return cautions;
}
