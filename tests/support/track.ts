import type { SequenceFrame } from '../../src/shoot/sequence.js';
import { sequenceFrame } from './frame-context.js';
import type { FakeFrame } from './measurement.js';

export const TRACK_START_MS = 1_780_000_000_000;

/** Frames of one track ten seconds apart, wall and sitter steady where not told. */
export const trackOf = (
  count: number,
  told: (i: number) => Partial<SequenceFrame> = () => ({}),
  fake: (i: number) => FakeFrame = () => ({}),
): SequenceFrame[] =>
  Array.from({ length: count }, (_, i) =>
    sequenceFrame(
      { capturedAtMs: TRACK_START_MS + 10_000 * i, ...fake(i) },
      { wallLightStops: -1, subjectLightStops: 0.5, ...told(i) },
      `F${String(i + 1).padStart(3, '0')}.jpg`,
    ),
  );
