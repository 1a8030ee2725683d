import type { FrameMeasurement } from '../../contracts/measurement.js';
import { mapsTonesLocally } from '../../photometry/tone-response.js';
import type { ShootPlan } from '../../contracts/plan.js';
import type { JudgedFrameInput } from '../input.js';
import { learnResponse, lightOfReading, type LearnedResponse } from './learned-response.js';
import { matchDistributions, type LevelPair } from './match-distributions.js';
import { pairRenderings } from './pair-renderings.js';
import { relevel } from './relevel.js';
import { cameraNames } from './same-camera.js';
import { responseFromSettings } from './settings-response.js';

export interface PreparedFrames {
  frames: JudgedFrameInput[];
  otherRenderings: { frame: string; rendering: string }[];
}

/**
 * What is done before judging: raw and JPEG of one exposure become one frame, and frames that were read through the
 * assumed response are read again through what this shoot itself teaches of their camera, where it teaches enough.
 */
export function prepareFrames(frames: readonly JudgedFrameInput[], plan: ShootPlan): PreparedFrames {
  const { frames: kept, pairs } = pairRenderings(frames);
  const otherRenderings = pairs.map(({ frame, rendering }) => ({ frame: frame.name, rendering: rendering.name }));
  const assumed = kept.filter(({ measurement }) => measurement !== null && canLearn(measurement));
  if (assumed.length === 0) return { frames: kept, otherRenderings };

  // What one camera's rendered files went through is learned for it alone.
  const nameOf = cameraNames(frames.flatMap(({ measurement }) => (measurement ? [measurement.exposure] : [])));
  const cameraOf = ({ exposure }: FrameMeasurement): string => nameOf(exposure);
  const evidence = new Map<string, LevelPair[][]>();
  const add = (camera: string, found: LevelPair[]) => {
    if (found.length > 0) evidence.set(camera, [...(evidence.get(camera) ?? []), found]);
  };
  for (const { frame, rendering } of pairs) {
    const raw = frame.measurement;
    const jpeg = rendering.measurement;
    if (raw && jpeg && canLearn(jpeg))
      add(cameraOf(raw), matchDistributions(raw.tone.stopsHistogram, jpeg.tone.stopsHistogram));
  }
  for (const { measurement } of kept) {
    if (measurement?.ownRendering)
      add(cameraOf(measurement), matchDistributions(measurement.tone.stopsHistogram, measurement.ownRendering));
  }

  const responses = new Map<string, LearnedResponse | null>();
  const responseOf = (camera: string): LearnedResponse | null => {
    const known = responses.get(camera);
    if (known !== undefined) return known;
    const own = assumed.filter((f) => f.measurement !== null && cameraOf(f.measurement) === camera);
    const learned =
      learnResponse(evidence.get(camera) ?? [], 'exposures in two renderings') ?? responseFromSettings(own, plan.light);
    responses.set(camera, learned);
    return learned;
  };
  return {
    otherRenderings,
    frames: kept.map((frame) => {
      const { measurement } = frame;
      if (measurement === null || !canLearn(measurement)) return frame;
      const learned = responseOf(cameraOf(measurement));
      return learned ? { ...frame, measurement: readThrough(measurement, learned) } : frame;
    }),
  };
}

/** Read through the assumed response, by a camera that has one: one that maps tones locally has another in every frame. */
const canLearn = ({ toneResponse }: FrameMeasurement): boolean =>
  toneResponse.source === 'assumed' && !mapsTonesLocally(toneResponse);

function readThrough(measurement: FrameMeasurement, learned: LearnedResponse): FrameMeasurement {
  const light = (stops: number) => lightOfReading(learned, stops);
  const h = 0.25;
  return relevel(measurement, light, {
    source: 'learned',
    slopeAtMid: (measurement.toneResponse.slopeAtMid * 2 * h) / (light(h) - light(-h)),
    uncertaintyStops: learned.uncertaintyStops,
    because: learned.because,
  });
}
