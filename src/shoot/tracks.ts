import type { FrameMeasurement } from '../contracts/measurement.js';
import type { FrameFacts } from './facts.js';

/**
 * Frames that can be compared: one camera, one encoding. Levels of a raw and of a JPEG, or of two cameras,
 * are never differenced. Frames that name no camera join the only camera there is.
 */
export function tracksOf(facts: readonly FrameFacts[]): FrameFacts[][] {
  const cameras = new Set(facts.map((frame) => cameraOf(frame.measurement)).filter((camera) => camera !== ''));
  const only = cameras.size === 1 ? [...cameras][0] : undefined;
  const tracks = new Map<string, FrameFacts[]>();
  for (const frame of facts) {
    const key = `${frame.measurement.encoding}|${cameraOf(frame.measurement) || (only ?? '')}`;
    const track = tracks.get(key);
    if (track === undefined) tracks.set(key, [frame]);
    else track.push(frame);
  }
  return [...tracks.values()];
}

/** Maker, model and serial number as far as the file tells them; empty without any. */
export function cameraOf({ exposure }: FrameMeasurement): string {
  const { cameraMake, cameraModel, cameraSerial } = exposure;
  return [cameraMake, cameraModel, cameraSerial].filter((part) => part !== null && part !== '').join(' ');
}
