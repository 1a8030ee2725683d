import type { JudgedFrameInput } from '../input.js';
import { canBeOneCamera } from './same-camera.js';

export interface PairedRendering {
  /** The frame that is judged: measured on the raw. */
  frame: JudgedFrameInput;
  /** The camera's own JPEG (or HEIF) of that exposure. */
  rendering: JudgedFrameInput;
}

/** File name without its ending and without regard to case: `P1.NEF` and `p1.jpg` share one. */
const stemOf = (name: string): string => name.replace(/\.[^.]*$/, '').toLowerCase();

/** Clocks write whole seconds into one file and sub-seconds into the other now and then. */
const SAME_MOMENT_MS = 1000;

function sameExposure(raw: JudgedFrameInput, other: JudgedFrameInput): boolean {
  const a = raw.measurement?.exposure;
  const b = other.measurement?.exposure;
  if (!a || !b || !canBeOneCamera(a, b)) return false;
  if (a.capturedAt === null || b.capturedAt === null) return false;
  return Math.abs(a.capturedAt.epochMs - b.capturedAt.epochMs) < SAME_MOMENT_MS;
}

/**
 * Raw and JPEG of one exposure (same stem, same moment, same camera) are one frame with two renderings, judged on the
 * raw. A raw that could not be measured takes nothing away: its JPEG stays a frame of its own.
 */
export function pairRenderings(frames: readonly JudgedFrameInput[]): {
  frames: JudgedFrameInput[];
  pairs: PairedRendering[];
} {
  const raws = new Map<string, JudgedFrameInput[]>();
  for (const frame of frames) {
    if (frame.measurement?.encoding !== 'scene') continue;
    const stem = stemOf(frame.name);
    raws.set(stem, [...(raws.get(stem) ?? []), frame]);
  }
  const pairs: PairedRendering[] = [];
  const kept = frames.filter((rendering) => {
    if (rendering.measurement?.encoding !== 'rendered') return true;
    const frame = raws.get(stemOf(rendering.name))?.find((raw) => sameExposure(raw, rendering));
    if (frame === undefined) return true;
    pairs.push({ frame, rendering });
    return false;
  });
  pairs.sort((a, b) => (a.rendering.name < b.rendering.name ? -1 : 1));
  return { frames: kept, pairs };
}
