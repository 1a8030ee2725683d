import type { FrameMeasurement } from '../../contracts/measurement.js';
import { Plot, drawSvg } from './plot.js';
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
      Plot.ruleX([0], { stroke: 'var(--line)', strokeDasharray: '2 3' }),
      Plot.ruleY([0], { stroke: 'var(--line)' }),
    ],
  });
  return markup`<figure>
    ${svg}
    <figcaption>Levels in the frame, third-stop bins</figcaption>
  </figure>`;
}

/** Level against height on the main person, head at the top. */
export function renderFallOff(measurement: FrameMeasurement): SafeHtml {
  const person = measurement.people.find((p) => p.main) ?? measurement.people[0];
  const points = (person?.profile ?? []).flatMap((p) =>
    p.levelStops === null ? [] : [{ height: p.heightShare, level: p.levelStops }],
  );
  if (points.length < 3) return markup``;
  const svg = drawSvg('Level from head to feet, in stops from mid-grey', {
    width: 300,
    height: 230,
    marginLeft: 44,
    marginBottom: 30,
    x: { label: 'stops from mid-grey', labelArrow: 'none', ticks: 5, nice: true },
    y: {
      domain: [1, 0],
      label: null,
      ticks: [0, 1],
      tickFormat: (d: number) => (d === 0 ? 'head' : 'feet'),
      tickSize: 0,
    },
    marks: [
      Plot.line(points, { x: 'level', y: 'height', stroke: 'var(--consistent)', strokeWidth: 2 }),
      Plot.dot(points, { x: 'level', y: 'height', r: 2.5, fill: 'var(--consistent)' }),
    ],
  });
  return markup`<figure>
    ${svg}
    <figcaption>Fall-off on the person, cloth and skin together; feet means the lowest part seen</figcaption>
  </figure>`;
}
