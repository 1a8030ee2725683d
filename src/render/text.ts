import stringWidth from 'string-width';
import { withoutControls } from './words.js';

const segmenter = new Intl.Segmenter(undefined, { granularity: 'grapheme' });

/** Terminal columns that a text takes. */
export const columnsOf = (text: string): number => stringWidth(text);

/** Pads with spaces to so many terminal columns. */
export function padTo(text: string, columns: number, align: 'left' | 'right' = 'left'): string {
  const spaces = ' '.repeat(Math.max(0, columns - columnsOf(text)));
  return align === 'left' ? text + spaces : spaces + text;
}

/** Shortens in the middle, keeping the start and the end (where frame numbers stand); control characters are replaced. */
export function fitName(name: string, columns: number): string {
  const clean = withoutControls(name);
  if (columnsOf(clean) <= columns) return clean;
  const pieces = Array.from(segmenter.segment(clean), (s) => s.segment);
  const tailColumns = Math.ceil((columns - 1) * 0.6);
  let tail = '';
  for (let i = pieces.length - 1; i >= 0 && columnsOf(pieces[i] + tail) <= tailColumns; i--) tail = pieces[i] + tail;
  let head = '';
  for (let i = 0; i < pieces.length && columnsOf(`${head}${pieces[i]}…${tail}`) <= columns; i++) head += pieces[i];
  return `${head}…${tail}`;
}

/** Breaks at spaces into lines of at most so many columns; a longer word is cut. */
export function wrap(text: string, columns: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of withoutControls(text).split(/\s+/).filter(Boolean)) {
    let rest = word;
    if (line !== '' && columnsOf(line) + 1 + columnsOf(rest) <= columns) {
      line += ` ${rest}`;
      continue;
    }
    if (line !== '') lines.push(line);
    while (columnsOf(rest) > columns) {
      lines.push(rest.slice(0, columns));
      rest = rest.slice(columns);
    }
    line = rest;
  }
  if (line !== '') lines.push(line);
  return lines;
}
