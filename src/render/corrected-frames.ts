import type { CorrectedFrame, ShootReport } from '../contracts/report.js';

/** The report's frames, each with what it says to do to it. */
export function correctedFrames(report: ShootReport): CorrectedFrame[] {
  const steps = new Map(report.corrections.map((one) => [one.frame, one.steps]));
  return report.frames.map((frame) => ({ ...frame, corrections: steps.get(frame.name) ?? [] }));
}
