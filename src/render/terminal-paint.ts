import type { Verdict } from '../contracts/report.js';

export interface TerminalOptions {
  /** Terminal columns to fill at most; 72..100. */
  columns?: number;
  /** SGR colours; a caller decides by terminal and environment, see `wantsColour`. */
  colour?: boolean;
}

/**
 * Colours only on a terminal, not when NO_COLOR is set and not empty (no-color.org) or TERM is dumb. FORCE_COLOR set to
 * anything but 0 or false (common practice, no single source) asks for them everywhere; NO_COLOR goes before it.
 */
export function wantsColour(stream: { isTTY?: boolean }, env: NodeJS.ProcessEnv): boolean {
  if (env['NO_COLOR']) return false;
  const forced = env['FORCE_COLOR'];
  if (forced !== undefined) return forced !== '0' && forced !== 'false';
  return stream.isTTY === true && env['TERM'] !== 'dumb';
}

export type Paint = (style: 'strong' | 'soft' | Verdict, text: string) => string;

const SGR: Record<'strong' | 'soft' | Verdict, string> = {
  strong: '1',
  soft: '2',
  consistent: '36',
  check: '33',
  off: '1;35',
  unreadable: '7',
};

/** Puts text into a style, or leaves it as it is. */
export const painterFor =
  (colour: boolean): Paint =>
  (style, text) =>
    colour && text !== '' ? `\u001b[${SGR[style]}m${text}\u001b[0m` : text;
