import { Plot, drawSvg } from './plot.js';
import type { SafeHtml } from './safe.js';

export interface ProfilePoint {
  /** 0 head, 1 feet. */
  height: number;
  level: number;
  from: number;
  to: number;
}

/** Levels in stops down a person, head at the top, each with its band; `rule` marks a level to compare with. */
export function drawProfile(
  name: string,
  axis: string,
  points: readonly ProfilePoint[],
  rule: number | null,
): SafeHtml {
  return drawSvg(name, {
    width: 340,
    height: 240,
    marginLeft: 44,
    marginRight: 14,
    marginBottom: 32,
    x: {
      label: axis,
      labelArrow: 'none',
      labelAnchor: 'center',
      ticks: 5,
      nice: true,
      tickFormat: (d: number) => (d > 0 ? `+${d}` : d < 0 ? `−${-d}` : '0'),
    },
    y: {
      domain: [1, 0],
      label: null,
      ticks: [0, 1],
      tickFormat: (d: number) => (d === 0 ? 'head' : 'feet'),
      tickSize: 0,
    },
    marks: [
      Plot.areaX(points, { x1: 'from', x2: 'to', y: 'height', fill: 'var(--band)' }),
      ...(rule === null ? [] : [Plot.ruleX([rule], { stroke: 'var(--ink)', strokeDasharray: '4 3' })]),
      Plot.line(points, { x: 'level', y: 'height', stroke: 'var(--consistent)', strokeWidth: 2 }),
      Plot.dot(points, { x: 'level', y: 'height', r: 2.5, fill: 'var(--consistent)' }),
    ],
  });
}
