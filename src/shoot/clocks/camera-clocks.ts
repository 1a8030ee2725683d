import type { ShootPlan } from '../../contracts/plan.js';
import type { CameraClock } from '../../contracts/report.js';
import type { Track } from '../build-setups.js';
import { cameraOf } from '../tracks.js';
import type { JudgedFrameInput } from '../input.js';
import { canBeOneCamera } from '../rendering/same-camera.js';
import { clockEventsOf } from './clock-events.js';
import { durationText } from './clock-text.js';
import { findOffset, type FoundOffset } from './find-offset.js';
import { plannedClockOf } from './planned-clocks.js';

/** Clocks that disagree by less than this, or by less than so many standard errors, agree. Ours. */
const AGREE = { ms: 30_000, errors: 4 } as const;

/**
 * The clocks of a shoot's cameras against that of the camera with most frames, which is taken as right. What the plan says
 * is believed; what it does not say is looked for in what the cameras saw together.
 *
 * @param tracks each camera's frames and set-ups in its own order, what the plan says of the clocks taken off
 * @returns one for each other camera, by name; none where there is one camera
 */
export function cameraClocksOf(tracks: readonly Track[], plan: ShootPlan): CameraClock[] {
  const [reference, ...others] = camerasOf(tracks);
  if (reference === undefined) return [];
  const seen = clockEventsOf(reference.track);
  return others
    .map(({ camera, measurement, frames, track }): CameraClock => {
      const about = { camera, against: reference.camera, frames };
      const planned = plannedClockOf(plan, measurement);
      if (planned !== null)
        return {
          ...about,
          from: 'plan',
          aheadSeconds: planned.aheadSeconds,
          uncertaintySeconds: 0,
          because: `The plan says that the clock of ${camera} is ${durationText(planned.aheadSeconds)} ${planned.aheadSeconds < 0 ? 'behind' : 'ahead'}.`,
        };
      return { ...about, ...lookedFor(camera, reference.camera, findOffset(seen, clockEventsOf(track))) };
    })
    .sort((a, b) => (a.camera < b.camera ? -1 : 1));
}

function lookedFor(
  camera: string,
  against: string,
  found: FoundOffset | null,
): Pick<CameraClock, 'from' | 'aheadSeconds' | 'uncertaintySeconds' | 'because'> {
  if (found === null)
    return {
      from: 'unknown',
      aheadSeconds: null,
      uncertaintySeconds: null,
      because: `Too little that both saw tells whether the clocks of ${camera} and ${against} agree: each camera's set-ups are judged by themselves, and the order between the two is as the files tell it.`,
    };
  const told = `${found.plain} changes of light${found.events > found.plain ? ` and ${found.events - found.plain} pauses` : ''} that both cameras saw`;
  const uncertaintySeconds = Math.round(found.errorMs / 1000);
  if (Math.abs(found.aheadMs) <= Math.max(AGREE.ms, AGREE.errors * found.errorMs))
    return {
      from: 'found',
      aheadSeconds: 0,
      uncertaintySeconds,
      because: `The clocks of ${camera} and ${against} agree, by ${told}.`,
    };
  const zone = nearestZoneMs(found);
  const aheadSeconds = Math.round((zone ?? found.aheadMs) / 1000);
  const likely = zone === null ? '' : ', as after a missed change to or from summer time or in another zone';
  return {
    from: 'found',
    aheadSeconds,
    uncertaintySeconds,
    because: `The clock of ${camera} runs ${durationText(aheadSeconds)} ${aheadSeconds < 0 ? 'behind' : 'ahead of'} that of ${against} (± ${uncertaintySeconds} s, by ${told}${likely}); frames are ordered with that taken off. Which of the two is right the frames do not tell.`,
  };
}

/** Time zones differ by quarters of an hour, and summer time by one hour. */
const ZONE_MS = 15 * 60_000;
/** No zone is further from another. */
const LARGEST_ZONE_MS = 26 * 3_600_000;

/** The whole quarters of an hour, two or more, that an offset is as far as it is known; null where it is something else. */
function nearestZoneMs({ aheadMs, errorMs }: FoundOffset): number | null {
  const whole = Math.round(aheadMs / ZONE_MS) * ZONE_MS;
  if (Math.abs(whole) < 2 * ZONE_MS || Math.abs(whole) > LARGEST_ZONE_MS) return null;
  return Math.abs(aheadMs - whole) <= Math.max(AGREE.ms / 2, AGREE.errors * errorMs) ? whole : null;
}

/** How far the clock of a frame's camera is ahead, in milliseconds, by the plan and by what was found. */
export function clockAhead(plan: ShootPlan, found: readonly CameraClock[]): (frame: JudgedFrameInput) => number {
  const seconds = new Map(
    found.flatMap(({ camera, from, aheadSeconds }): [string, number][] =>
      from === 'found' && aheadSeconds !== null ? [[camera, aheadSeconds]] : [],
    ),
  );
  return ({ measurement }) => {
    if (measurement === null) return 0;
    const ahead = plannedClockOf(plan, measurement)?.aheadSeconds ?? seconds.get(cameraOf(measurement)) ?? 0;
    return 1000 * ahead;
  };
}

interface Camera {
  camera: string;
  measurement: Track['frames'][number]['facts']['measurement'];
  frames: number;
  track: Track;
}

/** The cameras, most frames first; of one that wrote raws and pictures, the longer track. Nameless ones are nobody's clock. */
function camerasOf(tracks: readonly Track[]): Camera[] {
  const cameras: Camera[] = [];
  const longestFirst = [...tracks].sort((a, b) => b.frames.length - a.frames.length);
  for (const track of longestFirst) {
    const measurement = track.frames[0]?.facts.measurement;
    const camera = measurement === undefined ? '' : cameraOf(measurement);
    if (measurement === undefined || camera === '') continue;
    const same = cameras.find((other) => canBeOneCamera(other.measurement.exposure, measurement.exposure));
    if (same === undefined) cameras.push({ camera, measurement, frames: track.frames.length, track });
    else same.frames += track.frames.length;
  }
  return cameras;
}
