import { StopledgerError } from '../../src/errors.js';

/** What the decoders say when data ends before the image does. */
export const ENDS_EARLY =
  /premature end|truncat|unexpected end|not enough data|end of (file|data)|ran out|read error at/i;

/** What sharp threw, as an error of ours whose code says what kind of damage it was. */
export function decodingError(thrown: unknown, format: string): StopledgerError {
  if (thrown instanceof StopledgerError) return thrown;
  const message = messageOf(thrown);
  const code = ENDS_EARLY.test(message)
    ? 'frame-truncated'
    : /exceeds pixel limit/i.test(message)
      ? 'frame-too-many-pixels'
      : 'frame-corrupt';
  return new StopledgerError(code, `The ${format} file could not be decoded: ${firstLine(message)}`, { cause: thrown });
}

export function messageOf(thrown: unknown): string {
  return thrown instanceof Error ? thrown.message : String(thrown);
}

/** The first line that says something: AVIF's begin with one line per place that its reader tried. */
export function firstLine(message: string): string {
  const lines = message.split('\n').map((line) => line.trim());
  const said = lines.find((line) => line !== '' && !/source: bad seek to \d+$/.test(line));
  return (said ?? lines[0] ?? 'no reason given').slice(0, 200);
}
