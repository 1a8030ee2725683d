import type { ShootReport } from '../contracts/report.js';
import { wrap } from './text.js';

/** How the shoot stands to its plan and look, and on what it was judged; an empty string when there is nothing to say. */
export function renderNotes(report: ShootReport, options: { columns?: number } = {}): string {
  const columns = Math.max(72, Math.min(100, options.columns ?? 100));
  return report.summary.notes
    .flatMap((note) => wrap(capital(note), columns - 2).map((text, i) => (i === 0 ? `- ${text}` : `  ${text}`)))
    .join('\n');
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
