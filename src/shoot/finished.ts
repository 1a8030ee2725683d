import type { ExposureData } from '../contracts/exposure.js';
import type { Flag, FlagCode } from '../contracts/report.js';
import { LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS } from '../photometry/tone-response.js';
import type { JudgedFrameInput } from './input.js';
import type { SetupState } from './setup-state.js';
import { signedStops } from './wording.js';

/**
 * Exposure data without settings, light or camera. What a file of a finished picture tells about its making is not used, even
 * where it is still there: editing overrules it.
 */
export const NO_SETTINGS = {
  fNumber: null,
  exposureTimeSeconds: null,
  iso: null,
  exact: { fNumber: null, exposureTimeSeconds: null, iso: null },
  av: null,
  tv: null,
  sv: null,
  ev100: null,
  exposureBiasStops: null,
  flash: null,
  exposureProgram: null,
  exposureMode: null,
  meteringMode: null,
  whiteBalance: null,
  lightSource: null,
  // Crops have no focal length, and pictures of two cameras were brought to one look.
  cameraMake: null,
  cameraModel: null,
  cameraSerial: null,
  focalLengthMm: null,
  focalLength35mmMm: null,
} as const satisfies Partial<ExposureData>;

/**
 * A frame as finished exports are judged: by what it shows and when it was taken. Its tone response is as uncertain as
 * that of cameras which map tones locally, since every editor's curve is its own.
 */
export function asFinished(input: JudgedFrameInput): JudgedFrameInput {
  const { measurement } = input;
  if (measurement === null) return input;
  const { toneResponse } = measurement;
  const certain = toneResponse.source === 'scene' || toneResponse.source === 'none';
  return {
    ...input,
    measurement: {
      ...measurement,
      exposure: { ...measurement.exposure, ...NO_SETTINGS },
      toneResponse: certain
        ? toneResponse
        : {
            ...toneResponse,
            uncertaintyStops: Math.max(toneResponse.uncertaintyStops, LOCAL_TONE_MAPPING_UNCERTAINTY_STOPS),
            because: `${toneResponse.because}; a finished export, edited by a curve of its own`,
          },
    },
  };
}

/** Flags that name a cause, which a finished picture cannot tell, or miss what nobody expects there. */
const NOT_SAID: readonly FlagCode[] = [
  'settings-changed',
  'settings-off-plan',
  'light-changed',
  'light-missing',
  'light-short',
  'no-exposure-data',
];

/** The flags of a finished export: what it shows, no word on settings or light. */
export function shownFlags(flags: readonly Flag[], { id, frames }: Pick<SetupState, 'id' | 'frames'>): Flag[] {
  return flags
    .filter(({ code }) => !NOT_SAID.includes(code))
    .map((flag) =>
      // Of two frames one is told against the other, which names no cause.
      flag.code === 'level-off-baseline' && frames.length > 2
        ? { ...flag, because: `The subject shows ${signedStops(flag.stops ?? 0)} stop against ${id}'s baseline.` }
        : flag,
    );
}
