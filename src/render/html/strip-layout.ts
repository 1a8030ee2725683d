import type { ReportFrame, ShootReport } from '../../contracts/report.js';

/** A run of neighbouring frames of one set-up; places are counted from 1. */
export interface Span {
  from: number;
  to: number;
  id: string | null;
  shaded: boolean;
}

/** Half of the drawn range in stops: wide enough for most frames, never so wide that the tolerance band vanishes. */
export function stripHalfRangeStops(report: ShootReport): number {
  const sizes = report.frames.map((frame) => Math.abs(frame.deviation.fromSetupStops ?? 0)).sort((a, b) => a - b);
  const most = sizes[Math.floor(sizes.length * 0.97)] ?? 0;
  return Math.min(2.5, Math.max(1, report.plan.toleranceStops * 2.4, Math.ceil(most * 2 + 0.4) / 2));
}

/** Runs of one set-up; a frame without one stays in the run that it stands in. */
export function spansOf(frames: readonly ReportFrame[], firstAt: number): Span[] {
  const spans: Span[] = [];
  frames.forEach((frame, i) => {
    const last = spans.at(-1);
    if (last !== undefined && (last.id === frame.setup || frame.setup === null)) last.to = firstAt + i + 0.5;
    else spans.push({ from: firstAt + i - 0.5, to: firstAt + i + 0.5, id: frame.setup, shaded: false });
  });
  return spans;
}

/** What stands over a run, as far as there is room. */
export const spanLabel = (span: Span, pxPerFrame: number): string => {
  const room = (span.to - span.from) * pxPerFrame;
  if (span.id === null) return '';
  return room > 70 ? `set-up ${span.id}` : room > 18 ? span.id : '';
};

/** Places that are numbered below a row. */
export function ticksFor(firstAt: number, frames: number): number[] {
  const step = frames <= 60 ? 5 : frames <= 150 ? 10 : 20;
  return Array.from({ length: frames }, (_, i) => firstAt + i).filter((at) => at === 1 || at % step === 0);
}
