import type { ResponseKnots } from '../contracts/calibration.js';
import { ASSUMED_CAMERA_CURVE } from '../photometry/tone-response.js';
import { Plot, drawSvg } from './html/plot.js';

/** The fitted response beside the assumed one: stops of light against stops of the decoded file, both re mid-grey. SVG text. */
export function renderResponsePlot(title: string, knots: ResponseKnots): string {
  const toStops = (linear: number) => Math.log2(linear / 0.18);
  const fitted = knots.fileLinear.map((file, i) => ({
    file: toStops(file),
    light: toStops(knots.sceneLinear[i] ?? Number.NaN),
    which: 'fitted',
  }));
  const assumed = knots.fileLinear.map((file) => ({
    file: toStops(file),
    light: toStops(ASSUMED_CAMERA_CURVE.toScene(file)),
    which: 'assumed',
  }));
  const rows = [...fitted, ...assumed].filter((r) => r.light > -9 && r.file > -9);
  return drawSvg(title, {
    width: 640,
    height: 480,
    marginLeft: 48,
    grid: true,
    style: { background: 'white', color: 'black' },
    x: { label: 'light, stops re mid-grey' },
    y: { label: 'file after its own decoding, stops re mid-grey' },
    marks: [
      Plot.line(
        rows.filter((r) => r.which === 'assumed'),
        { x: 'light', y: 'file', stroke: '#777', strokeDasharray: '4 4' },
      ),
      Plot.line(
        rows.filter((r) => r.which === 'fitted'),
        { x: 'light', y: 'file', stroke: '#1f4e5f', strokeWidth: 2 },
      ),
      Plot.text([{ x: -6, y: 2, text: `${title}\nfull line: fitted, dashed: assumed` }], {
        x: 'x',
        y: 'y',
        text: 'text',
        textAnchor: 'start',
        fill: 'currentColor',
      }),
    ],
  }).toString();
}
