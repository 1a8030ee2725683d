import { codesOfCells, type Four, type Mosaic as AnyMosaic } from './mosaic-cells.js';

/** Of values at hand. */
type Mosaic = AnyMosaic & { data: Uint16Array };

/** Rows of cells of a mosaic, and the codes that LibRaw made of them. */
export interface KnownRows {
  row: number;
  rows: number;
  codes: Uint16Array;
}

type Channel = 0 | 1 | 2;

/** Cells that a black level is read from, at least, and how far apart those of the two greens are looked for. */
const LEAST_CELLS = 64;
const MOST_APART = 32;
/** Dark and full cells tell no black: there values were cut off. In codes. */
const FROM_CODE = 64;
const TO_CODE = 60_000;
/** Codes a value. Under this many values make one code, and none tells a black. */
const LEAST_SCALE = 1 / 16;
const MOST_VALUE = 65_535;

/**
 * Black levels by which every code of the known rows comes out as LibRaw made it, bit for bit. LibRaw tells one black
 * level, but may take another off each place of a cell.
 *
 * @param scales by place: codes a value
 * @param mostLikely black level tried first
 * @returns null where none make the same codes: then LibRaw did something else with this mosaic, or the rows are too dark
 *   or too bright to tell
 */
export function blacksOfCells(
  mosaic: Mosaic,
  scales: Four<number>,
  known: KnownRows,
  mostLikely: number,
): Four<number> | null {
  if (!scales.every((scale) => scale >= LEAST_SCALE)) return null;
  const made = new Uint16Array(known.codes.length);
  const isRight = (blacks: Four<number>, channels: readonly Channel[] = [0, 1, 2]): boolean => {
    if (!blacks.every((black) => black >= 0 && black <= MOST_VALUE)) return false;
    codesOfCells(mosaic, { blacks, scales }, known, made);
    return channels.every((channel) => areAlike(made, known.codes, channel));
  };
  const alike = atPlaces(() => mostLikely);
  if (isRight(alike)) return alike;

  const redAt = mosaic.redAt;
  const [greenA, greenB] = [redAt ^ 1, redAt ^ 2];
  const blacksFrom = (red: number, a: number, b: number, blue: number): Four<number> =>
    atPlaces((place) => (place === redAt ? red : place === greenA ? a : place === greenB ? b : blue));
  const ofRed = sumOfBlacks(mosaic, scales[redAt]!, known, 0, [redAt]);
  const ofBlue = sumOfBlacks(mosaic, scales[redAt ^ 3]!, known, 2, [redAt ^ 3]);
  const ofGreens = sumOfBlacks(mosaic, scales[greenA]!, known, 1, [greenA, greenB]);
  if (ofRed === null || ofGreens === null || ofBlue === null) return null;
  const red = besideOf(ofRed).find((black) => isRight(blacksFrom(black, 0, 0, 0), [0]));
  const blue = besideOf(ofBlue).find((black) => isRight(blacksFrom(0, 0, 0, black), [2]));
  if (red === undefined || blue === undefined) return null;
  const greens = pairsOf(ofGreens).find((pair) => isRight(blacksFrom(red, ...pair, blue)));
  return greens === undefined ? null : blacksFrom(red, ...greens, blue);
}

const atPlaces = (of: (place: number) => number): Four<number> => [of(0), of(1), of(2), of(3)];
const besideOf = (value: number): number[] => [value, value - 1, value + 1];

/** Pairs of whole numbers whose sum is that or one beside it, from those that are alike to those far apart. */
function pairsOf(sum: number): [number, number][] {
  const pairs: [number, number][] = [];
  for (let apart = 0; apart <= MOST_APART; apart++)
    for (const near of besideOf(sum).filter((value) => (value + apart) % 2 === 0)) {
      const [less, more] = [(near - apart) / 2, (near + apart) / 2];
      pairs.push([less, more]);
      if (apart > 0) pairs.push([more, less]);
    }
  return pairs;
}

function areAlike(made: Uint16Array, known: Uint16Array, channel: Channel): boolean {
  for (let i = channel; i < known.length; i += 3) if (made[i] !== known[i]) return false;
  return true;
}

/**
 * What is taken off the values of a channel's places in a cell, together: the mean over cells of what the values have more than
 * their code tells. Each rounding down loses half a code.
 */
function sumOfBlacks(
  { data, pitchPx, topPx, leftPx, cellsWide }: Mosaic,
  scale: number,
  { row, rows, codes }: KnownRows,
  channel: Channel,
  places: readonly number[],
): number | null {
  const lost = places.length === 1 ? 0.5 : 1.5;
  let [sum, cells] = [0, 0];
  for (let y = 0; y < rows; y++) {
    const start = (topPx + 2 * (row + y)) * pitchPx + leftPx;
    for (let x = 0; x < cellsWide; x++) {
      const code = codes[3 * (y * cellsWide + x) + channel]!;
      if (code < FROM_CODE || code > TO_CODE) continue;
      for (const place of places) sum += data[start + 2 * x + (place & 1) + (place >> 1) * pitchPx]!;
      sum -= (places.length * code + lost) / scale;
      cells++;
    }
  }
  return cells < LEAST_CELLS ? null : Math.round(sum / cells);
}
