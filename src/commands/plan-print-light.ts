import type { FallOffArithmetic, MoveArithmetic, PlannedLight } from '../contracts/plan-arithmetic.js';
import { exactFNumber } from '../photometry/nominal-scales.js';
import {
  type PlanPrintOptions,
  apertureText,
  lengthText,
  paragraphs,
  powerSentences,
  sentences,
  signed,
  stopsText,
  table,
  turnSentence,
} from './plan-words.js';

const MODEL =
  'One light and nothing else: floor, walls and other lights fill what it leaves dark. Surfaces are upright and face the light’s side.';

export function printFallOff(answer: FallOffArithmetic, options: PlanPrintOptions): string {
  const rows = answer.places.map((place) => [
    place.place,
    lengthText(place.belowFaceMetres, options),
    lengthText(place.fromLightMetres, options),
    `${place.incidenceDegrees.toFixed(0)}°`,
    place.fromFaceStops === null ? 'no light' : signed(place.fromFaceStops),
  ]);
  const axis = answer.onAxis.map((at) => [
    lengthText(at.distanceMetres, options),
    signed(at.fromHereStops),
    signed(at.pointLawStops),
  ]);
  return paragraphs(
    [
      sentences([`${lightText(answer.light, options)}.`, ...standing(answer.statureMetres, options)], options),
      table(['place', 'below face', 'from light', 'incidence', 'stops from face'], rows),
      ['Straight in front of the light:', ...table(['distance', 'stops from here', 'as a point'], axis)],
      sentences([MODEL], options),
    ],
    answer.cautions,
    options,
  );
}

export function printMove(answer: MoveArithmetic, options: PlanPrintOptions): string {
  const rows = answer.places.map((place) => [
    place.place,
    lengthText(place.belowFaceMetres, options),
    place.beforeFromFaceStops === null ? 'no light' : signed(place.beforeFromFaceStops),
    place.afterFromFaceStops === null ? 'no light' : signed(place.afterFromFaceStops),
    place.changeStops === null ? '' : signed(place.changeStops),
  ]);
  const lines = [
    Math.abs(answer.faceChangeStops) < 0.005
      ? 'The face gets the same light.'
      : `The face gets ${stopsText(answer.faceChangeStops)} ${answer.faceChangeStops < 0 ? 'less' : 'more'} light.`,
    turnSentence('the light', answer.turn),
    ...powerSentences(answer.power),
  ];
  if (answer.insteadAperture !== null && answer.turn.direction !== 'leave')
    lines.push(
      `Or leave the power and set ${apertureText(answer.insteadAperture, (written) => exactFNumber(written).exact)}.`,
    );
  const { before, after } = answer;
  if (before.seenWidthDegrees !== null && after.seenWidthDegrees !== null)
    lines.push(
      `The face sees it ${after.seenWidthDegrees.toFixed(0)}° wide, before ${before.seenWidthDegrees.toFixed(0)}°: ${
        after.seenWidthDegrees < before.seenWidthDegrees ? 'shadow edges get harder' : 'shadow edges get softer'
      }.`,
    );
  return paragraphs(
    [
      sentences(
        [
          `${lightText(before, options)}; moved to ${lengthText(after.distanceMetres, options)}, ${heightText(after, options)}.`,
          ...standing(answer.statureMetres, options),
        ],
        options,
      ),
      ['Stops from the face:', ...table(['place', 'below face', 'before', 'after', 'change'], rows)],
      sentences(lines, options),
      sentences([MODEL], options),
    ],
    answer.cautions,
    options,
  );
}

function lightText(light: PlannedLight, options: PlanPrintOptions): string {
  const { diameterMetres, widthMetres, heightMetres } = light;
  const size =
    diameterMetres !== null
      ? `A round light of ${lengthText(diameterMetres, options)}`
      : widthMetres !== null && heightMetres !== null
        ? `A panel of ${lengthText(widthMetres, options)} by ${lengthText(heightMetres, options)}`
        : 'A small bare light';
  const aim =
    light.shape === 'point' ? '' : light.aim === 'level' ? ', straight ahead' : `, pointed at the ${light.aim}`;
  return `${size} at ${lengthText(light.distanceMetres, options)}, ${heightText(light, options)}${aim}`;
}

function heightText({ raisedMetres }: PlannedLight, options: PlanPrintOptions): string {
  if (raisedMetres === 0) return 'level with the face';
  return `${lengthText(Math.abs(raisedMetres), options)} ${raisedMetres > 0 ? 'above' : 'below'} the face`;
}

const standing = (statureMetres: number | null, options: PlanPrintOptions): string[] =>
  statureMetres === null ? [] : [`A person of ${lengthText(statureMetres, options)}, standing.`];
