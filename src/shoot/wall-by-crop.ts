import { theilSenLine } from '../photometry/theil-sen.js';
import { medianOf, type Unknown } from './known.js';
import type { SequenceFrame } from './sequence.js';

/** Fewer frames, or crops that hardly differ (log2 of the face's height), tell no slope. Ours. */
const LEAST = { frames: 4, cropLog2: 0.5 } as const;
/** Steeper is not the wall's own gradient. Ours. */
const STEEPEST_STOPS = 0.5;
/** Frames that the slope is read from; its work grows with their square. */
const MOST_FRAMES = 60;

/**
 * Light on the wall with the framing taken out: a close crop sees the bright wall behind the head, a full
 * length the dark one by the feet. The slope of the wall's level over the crop is read robustly from the
 * set-up itself.
 */
export function wallLightsByCrop(frames: readonly SequenceFrame[]): Unknown[] {
  const walls = frames.map((frame) => frame.wallLightStops);
  const every = Math.ceil(frames.length / MOST_FRAMES);
  const xs: number[] = [];
  const ys: number[] = [];
  frames.forEach((frame, i) => {
    const crop = frame.facts.cropLog2;
    const wall = walls[i] ?? null;
    if (i % every !== 0 || crop === null || wall === null) return;
    xs.push(crop);
    ys.push(wall);
  });
  if (xs.length < LEAST.frames || Math.max(...xs) - Math.min(...xs) < LEAST.cropLog2) return walls;
  const line = theilSenLine(xs, ys);
  const usual = medianOf(xs, (x) => x);
  if (line === null || usual === null) return walls;
  const slope = Math.max(-STEEPEST_STOPS, Math.min(STEEPEST_STOPS, line.slope));
  return walls.map((wall, i) => {
    const crop = frames[i]?.facts.cropLog2 ?? null;
    return wall === null || crop === null ? wall : wall - slope * (crop - usual);
  });
}
