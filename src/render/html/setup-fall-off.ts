import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { LegPart, Person } from '../../contracts/people.js';
import type { Setup } from '../../contracts/report.js';
import { mainPerson } from './main-person.js';
import type { ProfilePoint } from './profile-plot.js';
import { drawProfile } from './profile-plot.js';
import { type SafeHtml, markup } from './safe.js';

const DOWN_TO_THE_FEET: readonly LegPart[] = ['foot-left', 'foot-right'];

const wholeFigure = (person: Person): boolean =>
  typeof person.face?.levelStops === 'number' &&
  !person.face.levelIsAtLeast &&
  DOWN_TO_THE_FEET.some((part) => person.lowerBody?.partsSeen.includes(part) === true);

const middle = (sorted: readonly number[], share: number): number => {
  const at = share * (sorted.length - 1);
  const low = sorted[Math.floor(at)] ?? 0;
  return low + ((sorted[Math.ceil(at)] ?? low) - low) * (at - Math.floor(at));
};

/** Medians and quartiles, over the set-up's whole figures, of each height's level minus the face's own. */
function setupProfile(people: readonly Person[]): ProfilePoint[] {
  const byHeight = new Map<number, number[]>();
  for (const person of people) {
    const face = person.face?.levelStops ?? 0;
    for (const { heightShare, levelStops } of person.profile) {
      if (levelStops === null) continue;
      byHeight.set(heightShare, [...(byHeight.get(heightShare) ?? []), levelStops - face]);
    }
  }
  return [...byHeight]
    .sort(([a], [b]) => a - b)
    .map(([height, levels]) => {
      levels.sort((a, b) => a - b);
      return { height, level: middle(levels, 0.5), from: middle(levels, 0.25), to: middle(levels, 0.75) };
    });
}

/** How levels fall from head to feet in a set-up; nothing where no frame shows a whole figure. */
export function renderSetupFallOff(
  { frames, id }: Setup,
  measurements: ReadonlyMap<string, FrameMeasurement>,
): SafeHtml | null {
  const people = frames.flatMap((name) => {
    const measurement = measurements.get(name);
    const person = measurement === undefined ? undefined : mainPerson(measurement);
    return person !== undefined && wholeFigure(person) ? [person] : [];
  });
  const points = setupProfile(people);
  if (points.length < 3) return null;
  return markup`<figure>
    ${drawProfile(`Levels from head to feet in set-up ${id}, in stops from the face`, 'stops from the face', points, 0)}
    <figcaption>
      Levels from head to feet against the face, cloth and skin together: ${people.length === 1 ? 'the one whole figure' : `median and middle half of ${people.length} whole figures`}.
    </figcaption>
  </figure>`;
}
