import type { CapturedAt } from '../../src/contracts/exposure.js';
import type { ExifTagSet } from './exif-tag-set.js';

type Reading = { value: CapturedAt; note: string | null } | { value: null; because: string };

const SOURCES = [
  { time: 'dateTimeOriginal', subSeconds: 'subSecTimeOriginal', offset: 'offsetTimeOriginal' },
  { time: 'dateTimeDigitized', subSeconds: 'subSecTimeDigitized', offset: 'offsetTimeDigitized' },
  { time: 'dateTime', subSeconds: 'subSecTime', offset: 'offsetTime' },
] as const;

/**
 * When the frame was taken: DateTimeOriginal, else DateTimeDigitized, else DateTime (saying so), each with its
 * own sub-seconds and offset. Blank or impossible dates are unknown. Exif 2.3, 4.6.5-F; sub-seconds are the
 * digits after the decimal point, so "05" is 0.05 s.
 */
export function readCapturedAt(tags: ExifTagSet): Reading {
  const reasons: string[] = [];
  for (const { time, subSeconds, offset } of SOURCES) {
    const text = tags.text(time);
    if (text === null) {
      if (tags.has(time)) reasons.push(`${time} is blank`);
      continue;
    }
    const seconds = parseDateTime(text);
    if (seconds === null) {
      reasons.push(`${time} "${text}" is not a date and time`);
      continue;
    }
    const fraction = /^(\d{1,9})\s*$/.exec(tags.text(subSeconds) ?? '')?.[1] ?? null;
    const offsetText = offsetOf(tags, offset, text);
    const offsetMs = offsetText === null ? 0 : offsetMilliseconds(offsetText);
    const value: CapturedAt = {
      iso: `${seconds.iso}${fraction === null ? '' : `.${fraction}`}${offsetText ?? ''}`,
      epochMs: seconds.epochMs + (fraction === null ? 0 : Number(`0.${fraction}`) * 1000) - offsetMs,
      offsetKnown: offsetText !== null,
      subSecondsKnown: fraction !== null,
    };
    const note = time === 'dateTimeOriginal' ? null : `The capture time was taken from ${time}: no DateTimeOriginal`;
    return { value, note };
  }
  return { value: null, because: reasons.length > 0 ? reasons.join('; ') : 'no date and time in the file' };
}

function parseDateTime(text: string): { iso: string; epochMs: number } | null {
  const match = /^(\d{4})[:\-/.](\d{2})[:\-/.](\d{2})[ T](\d{2}):(\d{2}):(\d{2})/.exec(text);
  if (match === null) return null;
  const [year, month, day, hour, minute, second] = match.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  if (year < 1900 || hour > 23 || minute > 59 || second > 59) return null;
  const epochMs = Date.UTC(year, month - 1, day, hour, minute, second);
  const iso = new Date(epochMs).toISOString().slice(0, 19);
  // 31 February would have become 3 March.
  return iso.slice(5, 10) === `${match[2]}-${match[3]}` ? { iso, epochMs } : null;
}

/** The offset that belongs to a time; DateTime's own serves another time only when both show the same clock. */
function offsetOf(tags: ExifTagSet, own: (typeof SOURCES)[number]['offset'], timeText: string): string | null {
  const direct = cleanOffset(tags.text(own));
  if (direct !== null || own === 'offsetTime') return direct;
  return tags.text('dateTime') === timeText ? cleanOffset(tags.text('offsetTime')) : null;
}

function cleanOffset(text: string | null): string | null {
  if (text === 'Z') return 'Z';
  const match = /^[+-](\d{2}):(\d{2})$/.exec(text ?? '');
  return match !== null && Number(match[1]) <= 14 && Number(match[2]) <= 59 ? match[0] : null;
}

function offsetMilliseconds(offset: string): number {
  if (offset === 'Z') return 0;
  const minutes = Number(offset.slice(1, 3)) * 60 + Number(offset.slice(4, 6));
  return (offset.startsWith('-') ? -1 : 1) * minutes * 60_000;
}
