import type { FNumberSetting, LightTurn, PowerTurn } from '../contracts/plan-arithmetic.js';
import { type PowerSetting, nearestPowerSetting } from '../photometry/flash-power.js';
import { METRES_PER_FOOT } from '../photometry/length.js';
import { padTo, wrap } from '../render/text.js';
import { formatShutter, formatStops } from '../render/words.js';

/** How answers are written out: lengths in feet as well, and lines of so many columns at most. */
export interface PlanPrintOptions {
  feet: boolean;
  columns: number;
}

export const stopsText = (stops: number): string => {
  const size = Math.abs(stops).toFixed(2);
  return `${size} stop${size === '1.00' ? '' : 's'}`;
};

export const signed = (stops: number | null): string => formatStops(stops, '-');

export const stepsText = (steps: number): string =>
  `${Math.abs(steps)} third-stop step${Math.abs(steps) === 1 ? '' : 's'}`;

/** f/8, or f/8.35 where no scale has the value; `f/8 (+0.10 stops)` where the value lies beside the engraved one. */
export function apertureText(
  { fNumber, exactFNumber }: FNumberSetting,
  exactOfNominal: (fNumber: number) => number,
): string {
  if (fNumber === null) return `f/${Number(exactFNumber.toPrecision(3))}`;
  const beside = 2 * Math.log2(exactFNumber / exactOfNominal(fNumber));
  return Math.abs(beside) < 0.005 ? `f/${fNumber}` : `f/${fNumber} (${signed(beside)} stops)`;
}

/** 1/125 s as engraved, or the value itself where no scale has it. */
export const shutterText = (nominal: number | null, exact: number): string => formatShutter(nominal ?? exact);

export const isoText = (nominal: number | null, exact: number): string => `ISO ${nominal ?? Math.round(exact)}`;

export function lengthText(metres: number, { feet }: PlanPrintOptions): string {
  const text = `${metres.toFixed(2)} m`;
  return feet ? `${text} (${(metres / METRES_PER_FOOT).toFixed(1)} ft)` : text;
}

const settingText = ({ wholeStopShare, extraThirdStopSteps }: PowerSetting): string => {
  const whole = wholeStopShare === 1 ? 'full' : `1/${Math.round(1 / wholeStopShare)}`;
  return extraThirdStopSteps === 0 ? whole : `${whole} + ${extraThirdStopSteps}/3`;
};

/** Power as set on the flash in third-stop steps: `1/4 + 2/3`. */
export function powerText(share: number): string {
  const setting = nearestPowerSetting(share);
  return setting === null ? `${share.toFixed(2)} times full` : settingText(setting);
}

export function turnSentence(what: string, turn: LightTurn): string {
  if (turn.direction === 'leave') return `Leave ${what} as it is.`;
  const way = turn.direction === 'up' ? 'up' : 'down';
  const rest = Math.abs(turn.remainderStops) < 0.005 ? '' : ` (and ${signed(turn.remainderStops)} stops left over)`;
  const ratio = turn.lightRatio.toFixed(turn.lightRatio < 0.1 ? 3 : 2);
  return `Turn ${what} ${way} by ${stopsText(turn.turnStops)}: ${stepsText(turn.thirdStopSteps)}${rest}, ${ratio} times the light.`;
}

export function powerSentences(power: PowerTurn | null): string[] {
  if (power === null) return [];
  const share = `${(100 * power.toShare).toPrecision(3)} % of full`;
  const sentences = [`Power: from ${powerText(power.fromShare)} to ${powerText(power.toShare)} (${share}).`];
  if (power.beyondFullStops !== null) sentences.push(beyondFull(power.beyondFullStops));
  return sentences;
}

export const beyondFull = (stops: number): string =>
  `That is ${stopsText(stops)} more than full power: open the aperture, raise the ISO, move the light nearer or add a second one.`;

/** An aligned table: first column to the left, the others to the right; a gap of two between them. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const all = [head, ...rows];
  const widths = head.map((_, column) => Math.max(...all.map((row) => (row[column] ?? '').length)));
  return all.map((row) =>
    row
      .map((cell, column) => padTo(cell, widths[column] ?? 0, column === 0 ? 'left' : 'right'))
      .join('  ')
      .trimEnd(),
  );
}

/** Sentences broken into lines, and cautions as a list at the end. */
export function paragraphs(
  parts: readonly (readonly string[])[],
  cautions: readonly string[],
  { columns }: PlanPrintOptions,
): string {
  const mind = cautions.flatMap((caution) =>
    wrap(caution, columns - 2).map((line, i) => `${i === 0 ? '-' : ' '} ${line}`),
  );
  return [...parts, mind.length === 0 ? [] : ['Mind:', ...mind]]
    .filter((part) => part.length > 0)
    .map((part) => `${part.join('\n')}\n`)
    .join('\n');
}

export const sentences = (texts: readonly string[], { columns }: PlanPrintOptions): string[] =>
  texts.flatMap((text) => wrap(text, columns));
