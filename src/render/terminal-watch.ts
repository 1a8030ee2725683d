import type { ReportFrame, Verdict } from '../contracts/report.js';
import type { FrameAdvice, WatchEvent } from '../contracts/watch.js';
import { painterFor, type TerminalOptions } from './terminal-paint.js';
import { columnsOf, fitName, padTo } from './text.js';
import { VERDICT_MARKS, VERDICT_WORDS, flagsWorstFirst, formatStops, withoutControls } from './words.js';

const WIDTHS = { setup: 6, verdict: 12, off: 6, advice: 36 } as const;
const LONGEST_NAME = 30;
const MOST_NAMES = 3;

const verdictText = (verdict: Verdict): string => `${VERDICT_MARKS[verdict]} ${VERDICT_WORDS[verdict]}`;

const flagCodes = (frame: ReportFrame): string =>
  [...new Set(flagsWorstFirst(frame).flatMap(({ code, severity }) => (severity === 'note' ? [] : [code])))].join(' ');

/** A name, shortened in the middle where it is very long. */
const nameOf = (name: string): string => fitName(name, LONGEST_NAME);

function listed(names: readonly string[]): string {
  if (names.length <= MOST_NAMES + 1) return names.map(nameOf).join(', ');
  return `${names.slice(0, MOST_NAMES).map(nameOf).join(', ')} and ${names.length - MOST_NAMES} more`;
}

/** Turns what `watch` has to tell into lines for people. The name column grows with the names that came. */
export class WatchLines {
  readonly #paint: ReturnType<typeof painterFor>;
  #nameColumns = 12;

  constructor({ colour = false }: Pick<TerminalOptions, 'colour'> = {}) {
    this.#paint = painterFor(colour);
  }

  /** What the columns are, told once at the beginning. */
  header(): string {
    return this.#paint(
      'strong',
      this.#row('frame', 'set-up', padTo('verdict', WIDTHS.verdict), 'stops', 'what to do', 'flags'),
    );
  }

  /** The lines of what one judgement told; earlier frames judged otherwise are gathered. */
  lines(events: readonly WatchEvent[]): string[] {
    const revised = events.flatMap((event) => (event.event === 'revised' ? [event] : []));
    const lines = events.flatMap((event) => {
      const line = this.#line(event);
      return line === null ? [] : [line];
    });
    return [...lines, ...this.#revisedLines(revised)];
  }

  #line(event: WatchEvent): string | null {
    switch (event.event) {
      case 'start':
        return this.#paint('soft', withoutControls(`watching ${event.folder}; stop with Ctrl-C`));
      case 'resumed':
        return this.#paint(
          'soft',
          `${event.frames} frame${event.frames === 1 ? '' : 's'} known from before, in ${event.setups} set-up${event.setups === 1 ? '' : 's'}: ${event.flagged} flagged`,
        );
      case 'setup': {
        const changed = event.changeFromPrevious === null ? '' : ` ${event.changeFromPrevious.because}`;
        const text = `${event.id} begins with ${nameOf(event.firstFrame)}: ${event.description}.${changed}`;
        return this.#paint('strong', withoutControls(text));
      }
      case 'setup-dropped':
        return `${event.id} was no set-up of its own: its frames belong to ${event.nowIn.join(', ')}`;
      case 'frame':
        return this.#frameLine(event.frame, event.advice, event.replaced);
      case 'rendering':
        return this.#paint(
          'soft',
          `${nameOf(event.name)} is one exposure with ${nameOf(event.of)}, measured on the raw`,
        );
      case 'removed':
        return this.#paint('soft', `${nameOf(event.name)} is gone and counts no more`);
      case 'revised':
      case 'end':
        return null;
    }
  }

  #frameLine(frame: ReportFrame, advice: FrameAdvice | null, replaced: boolean): string {
    const name = nameOf(frame.name);
    this.#nameColumns = Math.max(this.#nameColumns, columnsOf(name));
    return this.#row(
      name,
      frame.setup ?? '–',
      this.#paint(frame.verdict, padTo(verdictText(frame.verdict), WIDTHS.verdict)),
      formatStops(frame.deviation.fromSetupStops, '-'),
      advice?.text ?? '',
      `${flagCodes(frame)}${replaced ? ' (replaced)' : ''}`.trim(),
    );
  }

  #revisedLines(events: readonly Extract<WatchEvent, { event: 'revised' }>[]): string[] {
    const groups = new Map<string, { names: string[]; text: string }>();
    for (const { frame, was } of events) {
      const flags = flagCodes(frame);
      // Gone over to another set-up and judged the same: the set-up's own line says it.
      if (frame.verdict === was.verdict && flags.split(' ').every((code) => was.flags.some((old) => old === code)))
        continue;
      const before = frame.verdict === was.verdict ? '' : `, was ${verdictText(was.verdict)}`;
      const what = `now ${verdictText(frame.verdict)} in ${frame.setup ?? '–'}${before}`;
      const text = flags === '' ? what : `${what}: ${flags}`;
      const group = groups.get(text) ?? { names: [], text };
      group.names.push(frame.name);
      groups.set(text, group);
    }
    return [...groups.values()].map(({ names, text }) => `by later frames: ${listed(names)} ${text}`);
  }

  #row(name: string, setup: string, verdict: string, off: string, advice: string, flags: string): string {
    return [
      padTo(name, this.#nameColumns),
      padTo(setup, WIDTHS.setup),
      verdict,
      padTo(off, WIDTHS.off, 'right'),
      padTo(advice, WIDTHS.advice),
      flags,
    ]
      .join('  ')
      .trimEnd();
  }
}
