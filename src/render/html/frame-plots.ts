import type { FrameMeasurement } from '../../contracts/measurement.js';
import { mainPerson } from './main-person.js';
import { Plot, drawSvg } from './plot.js';
import { drawProfile } from './profile-plot.js';
import { type SafeHtml, markup } from './safe.js';

/** How much of the frame stands at which level: the 1/6-stop histogram, gathered into thirds. */
export function renderLevelHistogram(measurement: FrameMeasurement): SafeHtml {
  const { counts, firstBinStops, binWidthStops, below, above } = measurement.tone.stopsHistogram;
  const total = counts.reduce((sum, n) => sum + n, 0) + below + above;
  if (total === 0) return markup``;
  const bars = [];
  for (let i = 0; i < counts.length; i += 2) {
    const from = firstBinStops + i * binWidthStops;
    bars.push({
      from,
      to: from + 2 * binWidthStops,
      percent: (((counts[i] ?? 0) + (counts[i + 1] ?? 0)) / total) * 100,
    });
  }
  const svg = drawSvg('Share of the frame by level, in stops from mid-grey', {
    width: 360,
    height: 150,
    marginLeft: 34,
    marginBottom: 30,
    x: {
      domain: [firstBinStops, firstBinStops + counts.length * binWidthStops],
      label: 'stops from mid-grey',
      labelArrow: 'none',
      ticks: [-9, -6, -3, 0, 3],
      tickFormat: (d: number) => (d > 0 ? `+${d}` : d < 0 ? `−${-d}` : '0'),
    },
    y: { label: '% of frame', labelArrow: 'none', ticks: 3 },
    marks: [
      Plot.rectY(bars, { x1: 'from', x2: 'to', y: 'percent', fill: 'var(--consistent)', insetRight: 0.5 }),
      Plot.ruleX([0], { stroke: 'var(--ink)', strokeDasharray: '2 3' }),
      Plot.ruleY([0], { stroke: 'var(--line)' }),
    ],
  });
  return markup`<figure>
    ${svg}
    <figcaption>How much of the frame stands at which level, in thirds of a stop.</figcaption>
  </figure>`;
}

/**
 * Level against height on the main person, head at the top. The band is how well each level's difference from the
 * face is known through the tone response; it has no width at the face's own level.
 */
export function renderFallOff(measurement: FrameMeasurement): SafeHtml {
  const person = mainPerson(measurement);
  const face = person?.face?.levelStops ?? null;
  const { uncertaintyStops } = measurement.toneResponse;
  const points = (person?.profile ?? []).flatMap((p) => {
    if (p.levelStops === null) return [];
    const half = face === null ? 0 : Math.abs(p.levelStops - face) * uncertaintyStops;
    return [{ height: p.heightShare, level: p.levelStops, from: p.levelStops - half, to: p.levelStops + half }];
  });
  if (points.length < 3) return markup``;
  const svg = drawProfile('Level from head to feet, in stops from mid-grey', 'stops from mid-grey', points, face);
  return markup`<figure>
    ${svg}
    <figcaption>
      Levels down the person, cloth and skin together; feet means the lowest part seen.${face === null ? null : ' Dashed line: the face. Band: how well the difference from it is known.'}
    </figcaption>
  </figure>`;
}
