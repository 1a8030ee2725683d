/** Where progress and messages go: stderr in life, a recorder in tests. */
export interface ProgressStream {
  isTTY?: boolean;
  columns?: number;
  write(text: string): unknown;
}

export interface Progress {
  /** Shows how far a step is; drawn only on a terminal. */
  show(step: string, done: number, total: number, detail?: string): void;
  /** Takes the bar away, so that other lines can be written. */
  clear(): void;
}

const BAR_COLUMNS = 24;
const REDRAW_MS = 80;

function bar(done: number, total: number): string {
  const eighths = total === 0 ? 0 : Math.round((done / total) * BAR_COLUMNS * 2);
  const full = Math.floor(eighths / 2);
  return '='.repeat(full) + (eighths % 2 === 1 ? '-' : '') + ' '.repeat(BAR_COLUMNS - full - (eighths % 2));
}

function timeLeft(startedAt: number, done: number, total: number): string {
  if (done === 0 || done >= total) return '';
  const secondsLeft = ((performance.now() - startedAt) / 1000 / done) * (total - done);
  const rate = done / ((performance.now() - startedAt) / 1000);
  const left = secondsLeft < 90 ? `${Math.ceil(secondsLeft)} s` : `${Math.ceil(secondsLeft / 60)} min`;
  return `, ${rate.toFixed(1)} a second, ${left} left`;
}

/** A one-line bar with rate and time left on a terminal; says nothing where the stream is piped or `quiet`. */
export function createProgress(stream: ProgressStream, quiet: boolean): Progress {
  if (quiet || stream.isTTY !== true) return { show: () => undefined, clear: () => undefined };
  let step = '';
  let startedAt = 0;
  let drawnAt = 0;
  let drawn = false;
  return {
    show(name, done, total, detail = '') {
      const now = performance.now();
      if (name !== step) {
        step = name;
        startedAt = now;
        drawnAt = 0;
      }
      if (done < total && now - drawnAt < REDRAW_MS) return;
      drawnAt = now;
      drawn = true;
      const line = `${name} [${bar(done, total)}] ${done}/${total}${timeLeft(startedAt, done, total)}${detail}`;
      stream.write(`\r${line.slice(0, (stream.columns ?? 80) - 1)}\u001b[K`);
    },
    clear() {
      if (drawn) stream.write('\r\u001b[K');
      drawn = false;
    },
  };
}
