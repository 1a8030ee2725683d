import type { CameraCurveName } from '../../samples/make/camera-curves.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { plainFrame, renderFrame } from '../../samples/make/virtual-camera.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import type { Box } from '../../src/contracts/quantities.js';
import { measureFrame } from '../../worker/measure-frame.js';
import type { AccuracyRow } from './row.js';

const EXPOSURES_STOPS = [-6, -5, -4, -3, -2, -1, 0, 1, 2];
/** One light each; the skins from pale to deep, skirts, shorts and trousers. */
const RENDERS = ['ada-front', 'bea-side45', 'cole-front', 'dina-front', 'hana-side45'];

/** Soft, middle and hard; more would say little else and take minutes each. */
const CURVES: readonly CameraCurveName[] = ['soft-shoulder', 'middle-toe', 'hard-toe'];

/** Where a frame cuts the render, and so whether legs are in it. Heads are whole in all. */
const FRAMINGS = {
  full: { x: 0, y: 0, width: 1, height: 1, legs: true },
  'full, off centre': { x: 0.1, y: 0.02, width: 0.85, height: 0.97, legs: true },
  'head and shoulders': { x: 0.25, y: 0.05, width: 0.5, height: 0.33, legs: false },
} as const;
export type FramingName = keyof typeof FRAMINGS;

export interface DetectionCase {
  render: string;
  curve: CameraCurveName;
  framing: FramingName;
  stops: number;
  faceFound: boolean;
  /** Null where no legs are in the frame. */
  legsFound: boolean | null;
  people: number;
}

/** Face light is 1 in a render: at 0 stops an 18 % grey in it stands at mid-grey. */
export async function detect(
  render: string,
  curve: CameraCurveName,
  framing: FramingName,
  stops: number,
): Promise<DetectionCase> {
  const { legs, ...crop } = FRAMINGS[framing];
  const plain = plainFrame(render);
  const jpeg = await renderFrame({
    ...plain,
    light: { ...plain.light, powerStops: stops, ambientStops: -20 },
    curve,
    framing: {
      crop,
      mirrored: false,
      widthPx: 640,
      heightPx: Math.round((960 * 640 * crop.height) / (640 * crop.width)),
    },
    seed: `${render} ${curve} ${framing} ${stops}`,
  });
  const { measurement } = await measureFrame(jpeg, MeasuringOptions.parse({}));
  const main = measurement.people.find((person) => person.main);
  const [face, lower] = [main?.face ?? null, main?.lowerBody ?? null];
  return {
    render,
    curve,
    framing,
    stops,
    faceFound: face !== null && isUpThere(face.box, framing),
    // Parts with a level of their own, not only a box.
    legsFound: legs ? lower !== null && lower.partsSeen.length > 0 && lower.levelStops !== null : null,
    people: measurement.people.length,
  };
}

/** The figures' heads lie in the upper 30 % of a whole render, in the upper 75 % of the closest framing. */
function isUpThere(box: Box, framing: FramingName): boolean {
  const middle = box.y + box.height / 2;
  return middle < (framing === 'head and shoulders' ? 0.75 : 0.3);
}

/** Every figure, exposure and framing through `curves`, in a fixed order. */
export async function detectAll(curves: readonly CameraCurveName[] = CURVES): Promise<DetectionCase[]> {
  const cases: DetectionCase[] = [];
  for (const curve of curves)
    for (const render of RENDERS)
      for (const framing of Object.keys(FRAMINGS) as FramingName[])
        for (const stops of EXPOSURES_STOPS) cases.push(await detect(render, curve, framing, stops));
  return cases;
}

export const share = (cases: readonly DetectionCase[], found: (c: DetectionCase) => boolean | null): number => {
  const counted = cases.map(found).filter((value) => value !== null);
  return counted.filter(Boolean).length / counted.length;
};

export async function detectionRows(): Promise<AccuracyRow[]> {
  if (!STUDIO_PRESENT) return [];
  const cases = await detectAll();
  const row = (what: string, measured: number, goal = 0.95): AccuracyRow => ({
    section: `detection (${cases.length} frames: ${RENDERS.length} figures, ${CURVES.length} curves, ${EXPOSURES_STOPS.length} exposures, ${Object.keys(FRAMINGS).length} framings)`,
    what,
    measured,
    goal,
    unit: 'share',
    sense: 'least',
    truth: 'renders: one whole figure with its head in the frame',
  });
  return [
    row(
      'face found, -6 to +2 stops',
      share(cases, (c) => c.faceFound),
    ),
    row(
      'legs found where they are in the frame, -6 to +2 stops',
      share(cases, (c) => c.legsFound),
    ),
    row(
      'exactly one person found',
      share(cases, (c) => c.people === 1),
    ),
    ...EXPOSURES_STOPS.flatMap((stops) => {
      const at = cases.filter((c) => c.stops === stops);
      const name = `${stops > 0 ? '+' : ''}${stops} stops`;
      return [
        row(
          `face found, ${name}`,
          share(at, (c) => c.faceFound),
        ),
        row(
          `legs found, ${name}`,
          share(at, (c) => c.legsFound),
        ),
      ];
    }),
  ];
}
