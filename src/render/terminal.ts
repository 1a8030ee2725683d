import type { ReportFrame, Setup, ShootReport } from '../contracts/report.js';
import { renderNotes } from './plan-lines.js';
import { type Paint, type TerminalOptions, painterFor } from './terminal-paint.js';
import { columnsOf, fitName, padTo, wrap } from './text.js';
import { VERDICT_MARKS, VERDICT_WORDS, faceToLegs, flagsWorstFirst, formatStops, withoutControls } from './words.js';

const WIDTHS = { setup: 6, verdict: 12, from: 7, fix: 7, legs: 11 } as const;
const GAP = '  ';

function widthsFor(report: ShootReport, columns: number): { name: number; flags: number } {
  const fixed = Object.values(WIDTHS).reduce((sum, width) => sum + width, 0) + GAP.length * 6;
  const longest = Math.max(5, ...report.frames.map((frame) => columnsOf(fitName(frame.name, 200))));
  const name = Math.min(longest, 26, columns - fixed - 20);
  return { name, flags: columns - fixed - name };
}

function legsCell(frame: ReportFrame): string {
  const legs = faceToLegs(frame);
  return legs.stops === null ? '–' : `${formatStops(legs.stops, '-')} ${legs.basis}`;
}

/**
 * The per-frame table: name, set-up, verdict, stops from the set-up's baseline, stops to add, face minus lower body
 * (`skin`: light; `cloth`: brightness only), and the codes of what is flagged. Notes are left to the report files.
 */
export function renderFrameTable(report: ShootReport, options: TerminalOptions = {}): string {
  const columns = Math.max(72, Math.min(100, options.columns ?? 100));
  const paint = painterFor(options.colour ?? false);
  const width = widthsFor(report, columns);
  const line = (cells: [string, string, string, string, string, string, string]) => cells.join(GAP).trimEnd();
  const head = line([
    padTo('frame', width.name),
    padTo('set-up', WIDTHS.setup),
    padTo('verdict', WIDTHS.verdict),
    padTo('off by', WIDTHS.from, 'right'),
    padTo('add', WIDTHS.fix, 'right'),
    padTo('face-legs', WIDTHS.legs, 'right'),
    'flags',
  ]);
  const units = line([
    padTo('', width.name),
    padTo('', WIDTHS.setup),
    padTo('', WIDTHS.verdict),
    padTo('stops', WIDTHS.from, 'right'),
    padTo('stops', WIDTHS.fix, 'right'),
    padTo('stops', WIDTHS.legs, 'right'),
    '',
  ]);
  const lines = [paint('strong', head), paint('soft', units)];
  for (const frame of report.frames) {
    const codes = flagsWorstFirst(frame).filter((flag) => flag.severity !== 'note');
    const flagLines = wrap([...new Set(codes.map((flag) => flag.code))].join(' '), width.flags);
    const verdict = padTo(`${VERDICT_MARKS[frame.verdict]} ${VERDICT_WORDS[frame.verdict]}`, WIDTHS.verdict);
    lines.push(
      line([
        padTo(fitName(frame.name, width.name), width.name),
        padTo(fitName(frame.setup ?? '–', WIDTHS.setup), WIDTHS.setup),
        paint(frame.verdict, verdict),
        padTo(formatStops(frame.deviation.fromSetupStops, '-'), WIDTHS.from, 'right'),
        padTo(frame.verdict === 'consistent' ? '' : formatStops(frame.toBaselineStops, '-'), WIDTHS.fix, 'right'),
        padTo(legsCell(frame), WIDTHS.legs, 'right'),
        flagLines[0] ?? '',
      ]),
    );
    const indent = ' '.repeat(columns - width.flags);
    for (const more of flagLines.slice(1)) lines.push(indent + more);
  }
  return lines.join('\n');
}

function setupLines(setup: Setup, paint: Paint, columns: number): string[] {
  const b = setup.baseline;
  const facts = [
    `${setup.frames.length} frame${setup.frames.length === 1 ? '' : 's'}`,
    `subject ${formatStops(b.subjectLevelStops, '-')}`,
    `spread ${b.subjectSpreadStops === null ? '–' : b.subjectSpreadStops.toFixed(2)}`,
    `background ${formatStops(b.backgroundLevelStops, '-')} stops`,
  ].join(', ');
  const lines = [
    ...wrap(`${setup.id}  ${setup.description}`, columns - 4).map((text, i) =>
      i === 0 ? paint('strong', text) : `    ${text}`,
    ),
    ...wrap(`${withoutControls(setup.firstFrame)} to ${withoutControls(setup.lastFrame)}: ${facts}`, columns - 4).map(
      (t) => `    ${t}`,
    ),
  ];
  for (const told of [setup.changeFromPrevious, setup.drift, setup.automation]) {
    if (told !== null) lines.push(...wrap(withoutControls(told.because), columns - 4).map((text) => `    ${text}`));
  }
  return lines;
}

/** Why frames could not be measured, one line each; an empty string when all were. */
export function renderUnreadable(report: ShootReport, options: TerminalOptions = {}): string {
  const columns = Math.max(72, Math.min(100, options.columns ?? 100));
  return report.frames
    .filter((frame) => frame.verdict === 'unreadable')
    .flatMap((frame) => {
      const reasons = frame.flags.map((flag) => flag.because).join(' ');
      return wrap(`${fitName(frame.name, 60)}: ${reasons}`, columns - 4).map((text, i) =>
        i === 0 ? text : `    ${text}`,
      );
    })
    .join('\n');
}

/** Each set-up with its baseline in stops and what changed from the one before. */
export function renderSetupSummary(report: ShootReport, options: TerminalOptions = {}): string {
  const columns = Math.max(72, Math.min(100, options.columns ?? 100));
  const paint = painterFor(options.colour ?? false);
  if (report.setups.length === 0) return 'No set-up could be formed: no frame was measured.';
  return report.setups.flatMap((setup) => setupLines(setup, paint, columns)).join('\n');
}

/** Counts by verdict, the findings that matter most, what to mind before following them, the light assumed, the response. */
export function renderFindings(report: ShootReport, options: TerminalOptions = {}): string {
  const columns = Math.max(72, Math.min(100, options.columns ?? 100));
  const paint = painterFor(options.colour ?? false);
  const s = report.summary;
  const counts = `${s.consistent} of ${s.frames} frames consistent; ${s.check} to check, ${s.off} off, ${s.unreadable} unreadable.`;
  const lines = [paint('strong', counts)];
  s.findings.forEach((finding, i) => {
    wrap(finding, columns - 3).forEach((text, k) => lines.push(`${k === 0 ? `${i + 1}.` : '  '} ${text}`));
  });
  if (s.cautions.length > 0) lines.push('Mind:');
  for (const caution of s.cautions) {
    wrap(withoutControls(caution), columns - 2).forEach((text, k) => lines.push(`${k === 0 ? '-' : ' '} ${text}`));
  }
  lines.push(...wrap(`Light: ${s.light.kind}. ${s.light.because}`, columns).map((text) => paint('soft', text)));
  lines.push(...wrap(`Tone response: ${s.toneResponse}`, columns).map((text) => paint('soft', text)));
  return lines.join('\n');
}

/** Table, set-ups and findings as `audit`, `send` and the demo print them. */
export function renderTerminalReport(report: ShootReport, options: TerminalOptions = {}): string {
  return [
    renderFrameTable(report, options),
    renderUnreadable(report, options),
    renderSetupSummary(report, options),
    renderNotes(report, options),
    renderFindings(report, options),
  ]
    .filter((part) => part !== '')
    .join('\n\n');
}
