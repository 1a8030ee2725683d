import type { ShootReport } from '../../contracts/report.js';
import type { WatchEvent } from '../../contracts/watch.js';
import { wantsColour } from '../../render/terminal-paint.js';
import { renderFindings } from '../../render/terminal.js';
import { WatchLines } from '../../render/terminal-watch.js';
import type { OutputFlags } from '../present.js';
import type { Progress } from '../progress.js';
import type { CommandContext } from '../terminal.js';

const BELL = '\u0007';

type Flags = OutputFlags & { bell: boolean };

/** Says what a watched shoot has to tell, as lines for people or as one JSON object a line. */
export class Teller {
  readonly #flags: Flags;
  readonly #context: CommandContext;
  readonly #progress: Progress;
  readonly #lines: WatchLines;
  readonly #warned = new Set<string>();

  constructor(flags: Flags, context: CommandContext, progress: Progress) {
    this.#flags = flags;
    this.#context = context;
    this.#progress = progress;
    this.#lines = new WatchLines({ colour: wantsColour(context.stdout, context.env) });
  }

  begin(event: Extract<WatchEvent, { event: 'start' }>): void {
    if (this.#flags.json === true || this.#flags.quiet === true) {
      if (this.#flags.json === true) this.#write([JSON.stringify(event)]);
      return;
    }
    this.#write([...this.#lines.lines([event]), this.#lines.header()]);
  }

  tell(events: readonly WatchEvent[]): void {
    if (events.length === 0) return;
    if (this.#flags.json === true) {
      this.#write(events.map((event) => JSON.stringify(event)));
      return;
    }
    this.#write(this.#lines.lines(this.#flags.quiet === true ? events.filter(wantsLook) : events));
    const rings = this.#flags.bell && this.#context.stdout.isTTY === true;
    if (rings && events.some((event) => event.event === 'frame' && wantsLook(event))) {
      this.#context.stdout.write(BELL);
    }
  }

  /** Something that went wrong beside the frames; each is said once. */
  warn(text: string): void {
    if (this.#warned.has(text)) return;
    this.#warned.add(text);
    this.#progress.clear();
    this.#context.stderr.write(`${text}\n`);
  }

  /** @param written whether the report files could be written, where they were asked for */
  end(because: string, report: ShootReport | null, written: boolean): void {
    const { json, out } = this.#flags;
    if (json === true) {
      const event: WatchEvent = { event: 'end', because, summary: report?.summary ?? null };
      this.#write([JSON.stringify(event)]);
      return;
    }
    if (report === null) {
      this.#write(['no frame came']);
      return;
    }
    const { stdout, env } = this.#context;
    const findings = renderFindings(report, { colour: wantsColour(stdout, env), columns: stdout.columns ?? 100 });
    this.#write(['', findings]);
    if (out !== undefined && written) this.#write(['', `Report files are in ${out}`]);
  }

  #write(lines: readonly string[]): void {
    if (lines.length === 0) return;
    this.#progress.clear();
    this.#context.stdout.write(`${lines.join('\n')}\n`);
  }
}

/** Worth a line where only what is wrong is told, and a bell. */
function wantsLook(event: WatchEvent): boolean {
  return (event.event === 'frame' || event.event === 'revised') && event.frame.verdict !== 'consistent';
}
