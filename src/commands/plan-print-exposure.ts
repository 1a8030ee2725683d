import type {
  FNumberSetting,
  GuideArithmetic,
  MeterArithmetic,
  RatioArithmetic,
  TradeArithmetic,
  TradeRow,
} from '../contracts/plan-arithmetic.js';
import { exactFNumber } from '../photometry/nominal-scales.js';
import {
  type PlanPrintOptions,
  apertureText,
  beyondFull,
  isoText,
  lengthText,
  paragraphs,
  powerSentences,
  powerText,
  sentences,
  shutterText,
  signed,
  stopsText,
  table,
  turnSentence,
} from './plan-words.js';

const aperture = (setting: FNumberSetting): string => apertureText(setting, (written) => exactFNumber(written).exact);

export function printMeter(answer: MeterArithmetic, options: PlanPrintOptions): string {
  const { metered, target, turn } = answer;
  const by =
    metered.ev100 === null
      ? `The meter reads ${aperture(metered)}`
      : `${readingText(metered, metered.ev100)} means ${aperture(metered)} with the shutter and ISO told`;
  const lines = [
    `${by}; you want ${aperture(target)}.`,
    turnSentence('the light', turn),
    ...powerSentences(answer.power),
  ];
  if (turn.direction !== 'leave') {
    const iso = answer.insteadIso;
    const orIso = iso === null ? '' : `, or keep ${aperture(target)} at ${isoText(iso.iso, iso.exactIso)}`;
    lines.push(`Or leave the light and set ${aperture(metered)}${orIso}.`);
  }
  return paragraphs([sentences(lines, options)], answer.cautions, options);
}

function readingText({ lux, meterConstantC }: MeterArithmetic['metered'], ev100: number): string {
  if (lux === null) return `EV ${ev100} at ISO 100`;
  return `${lux} lx (EV ${ev100.toFixed(2)} at ISO 100 by a meter constant of ${meterConstantC ?? '?'})`;
}

const KEPT_BY: Record<NonNullable<TradeRow['keptBy']>, string> = {
  aperture: 'aperture',
  shutter: 'shutter',
  iso: 'ISO',
  power: 'power',
};

export function printTrade(answer: TradeArithmetic, options: PlanPrintOptions): string {
  const { from, light } = answer;
  const flash = light === 'flash';
  const now = [
    apertureShort(from),
    shutterText(from.exposureTimeSeconds, from.exactExposureTimeSeconds),
    isoText(from.iso, from.exactIso),
  ].join(', ');
  const head = ['aperture', 'shutter', 'ISO', 'kept by', flash ? 'flash changes' : 'light changes'];
  if (flash) head.push('turn flash', 'other light');
  const rows = answer.rows.map((row) => {
    const cells = [
      row.fNumber === null ? `f/${round(row.exactFNumber)} *` : `f/${row.fNumber}`,
      shutterText(row.exposureTimeSeconds, row.exactExposureTimeSeconds) +
        (row.exposureTimeSeconds === null ? ' *' : ''),
      `${row.iso ?? `${Math.round(row.exactIso)} *`}`,
      row.keptBy === null ? '-' : KEPT_BY[row.keptBy],
      row.levelChangeStops === null ? 'in parts' : signed(row.levelChangeStops),
    ];
    if (flash) cells.push(row.powerStops === 0 ? '' : signed(row.powerStops), signed(row.continuousChangeStops));
    return row.fasterThanSync ? [...cells, 'past sync'] : cells;
  });
  if (rows.some((row) => row.length > head.length)) head.push('');
  const notes = [...answer.notes];
  if (answer.rows.some((row) => row.fNumber === null || row.exposureTimeSeconds === null || row.iso === null))
    notes.push('* not on a camera’s scale.');
  return paragraphs(
    [
      sentences(
        [
          `From ${now}: EV ${answer.ev100.toFixed(2)} at ISO 100, by ${flash ? 'flash' : 'continuous light'}. Changes are in stops.`,
        ],
        options,
      ),
      table(head, rows),
      sentences(notes, options),
    ],
    answer.cautions,
    options,
  );
}

const round = (value: number): number => Number(value.toPrecision(3));

export function printGuide(answer: GuideArithmetic, options: PlanPrintOptions): string {
  const at = lengthText(answer.distanceMetres, options);
  const set = aperture(answer.aperture);
  const power = powerPhrase(answer.powerShare);
  const iso = `ISO ${Math.round(answer.exactIso)}`;
  const answers: Record<GuideArithmetic['solvedFor'], string> = {
    aperture: `At ${at}, ${power}, ${iso}: set ${set}.`,
    distance: `For ${set}, ${power}, ${iso}: stand the flash ${at} from the subject.`,
    power: `For ${set} at ${at}, ${iso}: ${power} (${(100 * answer.powerShare).toPrecision(3)} % of full).`,
    difference: `${set} at ${at}, ${power}, ${iso}: ${
      Math.abs(answer.differenceStops) < 0.005
        ? 'that agrees.'
        : `${stopsText(answer.differenceStops)} too ${answer.differenceStops > 0 ? 'much' : 'little'} light.`
    }`,
  };
  const lines = [
    `Guide number ${answer.guideNumberMetres.toFixed(1)} m (${answer.guideNumberFeet.toFixed(0)} ft) at ISO 100, full power.`,
    answers[answer.solvedFor],
  ];
  if (answer.beyondFullStops !== null) lines.push(beyondFull(answer.beyondFullStops));
  const rows = answer.powers.map((row) => [
    powerText(row.powerShare),
    signed(row.fromFullStops),
    apertureShort(row.apertureAtDistance),
    lengthText(row.distanceAtApertureMetres, options),
  ]);
  return paragraphs(
    [
      sentences(lines, options),
      table(['power', 'stops', `aperture at ${at}`, `distance for ${apertureShort(answer.aperture)}`], rows),
      sentences(
        [
          'Guide numbers are told for the bare head and a light room; a softbox or umbrella eats a stop or more. Meter it.',
        ],
        options,
      ),
    ],
    answer.cautions,
    options,
  );
}

const powerPhrase = (share: number): string =>
  powerText(share) === 'full' ? 'full power' : `power ${powerText(share)}`;

const apertureShort = ({ fNumber, exactFNumber: exact }: FNumberSetting): string => `f/${fNumber ?? round(exact)}`;

export function printRatio(answer: RatioArithmetic, options: PlanPrintOptions): string {
  const { key, fill, litSide, keyOverFillStops } = answer;
  const lines = [
    `Additive ratio, (key + fill) : fill, what the picture shows: ${ratioText(answer.additiveRatio)}, ${stopsText(answer.highlightToShadowStops)} from lit to shadow side.`,
    keyOverFillStops === null
      ? 'Source ratio, key : fill, each metered alone: no key at all.'
      : `Source ratio, key : fill, each metered alone: ${ratioText(answer.sourceRatio)}, the key ${signed(keyOverFillStops)} stops over the fill.`,
  ];
  if (key !== null && fill !== null) lines.push(`Key alone ${aperture(key)}, fill alone ${aperture(fill)}.`);
  if (litSide !== null) lines.push(`The lit side reads ${aperture(litSide)} with both on.`);
  if (answer.turnFill !== null) lines.push(turnSentence('the fill', answer.turnFill));
  const notes =
    answer.from === 'areas'
      ? ['This takes the fill to reach both sides alike and the key to miss the shadow side.']
      : ['This takes the fill to reach both sides alike.'];
  return paragraphs([sentences(lines, options), sentences(notes, options)], answer.cautions, options);
}

const ratioText = (ratio: number): string => `${Number(ratio.toFixed(2))}:1`;
