import type { ReportFrame, ShootReport } from '../../contracts/report.js';
import { FLAG_WORDS, VERDICT_WORDS, flagsWorstFirst, formatStops } from '../words.js';
import type { Anchors } from './anchors.js';
import { Plot, drawSvg } from './plot.js';
import { type SafeHtml, markup } from './safe.js';
import { spanLabel, spansOf, stripHalfRangeStops, ticksFor, type Span } from './strip-layout.js';
import { type PlacedLabel, placeLabels, stripLabel } from './strip-labels.js';

interface StripMark {
  at: number;
  stops: number;
  /** Beyond the drawn range: drawn at the edge, its number in words. */
  beyond: 'above' | 'below' | null;
  frame: ReportFrame;
  href: string;
  title: string;
}

const ROW_WIDTH_PX = 1160;
const ROW_HEIGHT_PX = 230;

const framesPerRow = (frames: number): number => (frames <= 90 ? 90 : frames <= 600 ? 120 : 240);

function titleOf(frame: ReportFrame): string {
  const flags = flagsWorstFirst(frame).filter((flag) => flag.severity !== 'note');
  const level =
    frame.deviation.fromSetupStops === null
      ? 'level not known'
      : `${formatStops(frame.deviation.fromSetupStops)} stops from its set-up`;
  const words = flags.map((flag) => FLAG_WORDS[flag.code]).join(', ');
  return `${frame.name}: ${VERDICT_WORDS[frame.verdict]}, ${level}${words === '' ? '' : `; ${words}`}`;
}

function drawRow(
  report: ShootReport,
  anchors: Anchors,
  frames: readonly ReportFrame[],
  firstAt: number,
  setupOrder: Map<string, number>,
): SafeHtml {
  const half = stripHalfRangeStops(report);
  const tolerance = report.plan.toleranceStops;
  const marks = frames.map((frame, i): StripMark => {
    const stops = frame.deviation.fromSetupStops;
    const beyond = stops === null ? null : stops > half ? 'above' : stops < -half ? 'below' : null;
    return {
      at: firstAt + i,
      stops: Math.max(-half, Math.min(half, stops ?? 0)),
      beyond,
      frame,
      href: `#${anchors.frame(frame.name)}`,
      title: titleOf(frame),
    };
  });
  const descriptions = new Map(report.setups.map(({ id, description }) => [id, `Set-up ${id}: ${description}`]));
  const spans = spansOf(frames, firstAt);
  for (const span of spans) span.shaded = (setupOrder.get(span.id ?? '') ?? 0) % 2 === 0;
  const perRow = Math.max(frames.length, Math.min(report.frames.length, framesPerRow(report.frames.length)));
  const domain: [number, number] = [firstAt - 0.5, firstAt + perRow - 0.5];
  const pxPerFrame = (ROW_WIDTH_PX - 70) / perRow;
  const radius = Math.max(2.2, Math.min(5, pxPerFrame * 0.3));
  const of = (verdict: ReportFrame['verdict']) => marks.filter((mark) => mark.frame.verdict === verdict);
  const common = { x: 'at', y: 'stops', href: 'href', title: 'title' } as const;
  const wanted = marks
    .filter(({ frame }) => frame.verdict === 'off' || frame.verdict === 'check')
    .map((mark) => ({
      at: mark.at,
      stops: mark.stops,
      above: mark.beyond === null ? mark.stops >= 0 : mark.beyond === 'below',
      text: stripLabel(mark.frame, tolerance),
      severe: mark.frame.verdict === 'off',
    }));
  const placed = placeLabels(wanted, pxPerFrame);
  const labels = (above: boolean) =>
    Plot.text(
      placed.filter((label) => label.above === above),
      {
        x: 'at',
        y: 'stops',
        dy: above ? -radius - 9 : radius + 9,
        text: 'text',
        fill: (label: PlacedLabel) => (label.severe ? 'var(--off)' : 'var(--check)'),
        fontWeight: 700,
        fontSize: 12,
      },
    );
  return drawSvg(`Frames ${firstAt} to ${firstAt + frames.length - 1} against their set-ups, in stops`, {
    width: ROW_WIDTH_PX,
    height: ROW_HEIGHT_PX,
    marginLeft: 48,
    marginRight: 22,
    marginTop: 34,
    marginBottom: 30,
    className: 'strip',
    color: { type: 'identity' },
    x: {
      domain,
      label: null,
      ticks: ticksFor(firstAt, frames.length),
      tickFormat: (d: number) => String(d),
      tickSize: 0,
    },
    y: {
      domain: [-half, half],
      label: null,
      ticks: [-2, -1, 0, 1, 2].filter((t) => Math.abs(t) < half),
      tickFormat: (d: number) => (d === 0 ? '0' : formatStops(d).replace('.00', '')),
      tickSize: 0,
    },
    marks: [
      Plot.rect(
        spans.filter((s) => s.shaded),
        { x1: 'from', x2: 'to', y1: -half, y2: half, fill: 'var(--span)' },
      ),
      Plot.rect([{ x1: domain[0], x2: firstAt + frames.length - 0.5 }], {
        x1: 'x1',
        x2: 'x2',
        y1: -tolerance,
        y2: tolerance,
        fill: 'var(--band)',
      }),
      Plot.ruleY([0], { x1: domain[0], x2: firstAt + frames.length - 0.5, stroke: 'var(--line)' }),
      Plot.text(spans, {
        x: 'from',
        dx: 5,
        y: half,
        dy: -20,
        textAnchor: 'start',
        text: (s: Span) => spanLabel(s, pxPerFrame),
        href: (s: Span) => (s.id === null ? null : `#${anchors.setup(s.id)}`),
        title: (s: Span) => descriptions.get(s.id ?? '') ?? '',
        fill: 'var(--ink)',
        fontWeight: 600,
      }),
      Plot.dot(of('consistent'), { ...common, r: radius, symbol: 'circle', fill: 'var(--consistent)' }),
      Plot.dot(of('check'), {
        ...common,
        r: radius * 1.25,
        symbol: 'square',
        fill: 'var(--paper)',
        stroke: 'var(--check)',
        strokeWidth: 2,
      }),
      Plot.dot(
        of('off').filter((m) => m.beyond === null),
        { ...common, r: radius * 1.5, symbol: 'diamond2', fill: 'var(--off)' },
      ),
      Plot.dot(
        of('off').filter((m) => m.beyond !== null),
        {
          ...common,
          r: radius * 1.5,
          symbol: 'triangle',
          rotate: (m: StripMark) => (m.beyond === 'below' ? 180 : 0),
          fill: 'var(--off)',
        },
      ),
      Plot.dot(of('unreadable'), { ...common, r: radius * 1.3, symbol: 'times', stroke: 'var(--ink)', strokeWidth: 2 }),
      labels(true),
      labels(false),
    ],
  });
}

/** The whole shoot in order: each frame's level against its own set-up's baseline, in stops of light. */
export function renderStrip(report: ShootReport, anchors: Anchors): SafeHtml {
  const setupOrder = new Map(report.setups.map((setup, i) => [setup.id, i]));
  const perRow = framesPerRow(report.frames.length);
  const rows: SafeHtml[] = [];
  for (let i = 0; i < report.frames.length; i += perRow) {
    rows.push(
      markup`<div class="strip-row">
        ${drawRow(report, anchors, report.frames.slice(i, i + perRow), i + 1, setupOrder)}
      </div>`,
    );
  }
  const tolerance = report.plan.toleranceStops.toFixed(2);
  return markup`<figure class="strip-figure">
    <div
      class="strip-scroll"
      tabindex="0"
      role="group"
      aria-label="Strip of the whole shoot, scrolls sideways on a narrow screen"
    >
      ${rows}
    </div>
    <figcaption>
      Up is brighter, in stops of light from the frame’s own set-up (line at 0). The band is the tolerance,
      ±${tolerance} stops.
      <span class="keys">
        <span class="key"><i class="k-consistent" aria-hidden="true"></i> consistent</span>
        <span class="key"><i class="k-check" aria-hidden="true"></i> check</span>
        <span class="key"><i class="k-off" aria-hidden="true"></i> off</span>
        <span class="key"><i aria-hidden="true">▼</i> off, beyond the drawn range</span>
        <span class="key"><i aria-hidden="true">×</i> unreadable</span>
      </span>
    </figcaption>
  </figure>
    <p class="told" hidden>
      <img alt="" hidden /><span>Point at a mark to see its frame. Tab leads to the strip, arrow keys along it, Enter opens a frame.</span>
    </p>`;
}
