/** A whole planned shoot: pictures and truth. */
import { CAMERA_CURVES } from './camera-curves.js';
import type { PlannedSetup } from './scenario.js';
import { planShoot, type FramesPlan } from './shoot-frames.js';
import { ShootTruth, type FrameTruth } from './truth.js';
import { renderFrameWithTruth } from './virtual-camera.js';

export interface PlannedShoot extends FramesPlan {
  about: string;
}

export interface RenderedShoot {
  frames: { name: string; jpeg: Buffer }[];
  truth: ShootTruth;
}

/** Renders every frame of a shoot. Throws RangeError for a frame of an unknown set-up, and when a render is missing. */
export async function renderShoot(shoot: PlannedShoot): Promise<RenderedShoot> {
  const frames: RenderedShoot['frames'] = [];
  const truths: FrameTruth[] = [];
  for (const planned of planShoot(shoot)) {
    const { jpeg, truth } = await renderFrameWithTruth(planned.spec);
    frames.push({ name: planned.name, jpeg });
    truths.push(planned.truth(truth));
  }
  const truth = ShootTruth.parse({
    schemaVersion: 1,
    about: shoot.about,
    exposureModel:
      'incident reading at the face: an 18 % surface in the mean light of the face, as read, gives sensor exposure 0.18, which the camera writes as sRGB code 118; the lamp is then set underReadingStops under the reading on purpose; face.lightStops is relative to the reading',
    curve: `${shoot.curve} (samples/make/camera-curves.ts): ${CAMERA_CURVES[shoot.curve].description}`,
    setups: shoot.setups.map((setup) => ({
      id: setup.id,
      description: setup.description,
      frames: truths.filter((frame) => frame.setup === setup.id).map((frame) => frame.name),
      metered: {
        fNumber: setup.metered.fNumber,
        exposureTimeSeconds: 1 / setup.metered.shutterDenominator,
        iso: setup.metered.iso,
      },
      underReadingStops: setup.underReadingStops,
      beginsSetup: setup.beginsSetup,
      levelFromPreviousStops: levelFromPrevious(shoot.setups, truths, setup.id),
    })),
    frames: truths,
  });
  return { frames, truth };
}

/** Mean change of the face's light from the set-up before, over sitters with frames as intended in both. */
function levelFromPrevious(
  setups: readonly PlannedSetup[],
  frames: readonly FrameTruth[],
  setupId: string,
): number | null {
  const before = setups[setups.findIndex((setup) => setup.id === setupId) - 1];
  if (before === undefined) return null;
  const level = (setup: string, figure: string): number | null => {
    const levels = frames
      .filter(
        (f) =>
          f.setup === setup &&
          f.figure === figure &&
          (f.incident === null ||
            Math.abs(f.trueFromSetupStops) < 0.1 ||
            f.incident.kind === 'light-moved-without-metering'),
      )
      .flatMap((f) => (f.face.lightStops === null ? [] : [f.face.lightStops]));
    return levels.length === 0 ? null : levels.reduce((sum, v) => sum + v, 0) / levels.length;
  };
  const changes = [...new Set(frames.map((f) => f.figure))].flatMap((figure) => {
    const then = level(before.id, figure);
    const now = level(setupId, figure);
    return then === null || now === null ? [] : [now - then];
  });
  if (changes.length === 0) return null;
  return Math.round((1000 * changes.reduce((sum, v) => sum + v, 0)) / changes.length) / 1000;
}
