import { PlanArithmetic } from '../contracts/plan-arithmetic.js';
import { StopledgerError } from '../errors.js';
import type { LightShape } from '../photometry/hung-light.js';
import { USUAL_STATURE_METRES } from '../plan/body-places.js';
import { planFallOff } from '../plan/falloff.js';
import { planGuide } from '../plan/guide.js';
import { planMeter, type MeterQuestion } from '../plan/meter.js';
import { planMove } from '../plan/move.js';
import type { LightQuestion } from '../plan/planned-light.js';
import { planRatio } from '../plan/ratio.js';
import { planTrade } from '../plan/trade.js';
import type { FallOffFlags, PlanCommandName, PlanFlagsByName } from './plan-flags.js';
import { printPlan } from './plan-print.js';
import {
  inFeet,
  readEv,
  readFNumber,
  readGuideNumber,
  readIso,
  readLength,
  readLengths,
  readLux,
  readMeterConstant,
  readPanel,
  readPower,
  readRatio,
  readShutter,
} from './plan-quantities.js';
import type { CommandContext, ExitStatus } from './terminal.js';

const ANSWERS: { [Name in PlanCommandName]: (flags: PlanFlagsByName[Name]) => PlanArithmetic } = {
  meter: (flags) =>
    planMeter({
      reading: readingOf(flags),
      targetExactFNumber: readFNumber('--target', flags.target),
      exactIso: told('--iso', flags.iso, readIso),
      powerShare: told('--power', flags.power, readPower),
      light: flags.light ?? null,
    }),
  trade: (flags) =>
    planTrade({
      from: {
        fNumber: readFNumber('--aperture', flags.aperture),
        exposureTimeSeconds: readShutter('--shutter', flags.shutter),
        iso: readIso('--iso', flags.iso),
      },
      to: {
        ...(flags.toAperture === undefined ? {} : { fNumber: readFNumber('--to-aperture', flags.toAperture) }),
        ...(flags.toShutter === undefined ? {} : { exposureTimeSeconds: readShutter('--to-shutter', flags.toShutter) }),
        ...(flags.toIso === undefined ? {} : { iso: readIso('--to-iso', flags.toIso) }),
      },
      light: flags.light,
      syncSeconds: told('--sync', flags.sync, readShutter),
    }),
  guide: (flags) =>
    planGuide({
      guideNumberMetres: readGuideNumber('--number', flags.number),
      guideIso: told('--number-iso', flags.numberIso, readIso) ?? 100,
      exactIso: told('--iso', flags.iso, readIso) ?? 100,
      distanceMetres: told('--distance', flags.distance, readLength),
      exactFNumber: told('--aperture', flags.aperture, readFNumber),
      powerShare: told('--power', flags.power, readPower),
    }),
  falloff: (flags) => planFallOff({ ...lightQuestion('falloff', flags), light: flags.light ?? null }),
  move: (flags) => {
    const before = lightQuestion('move', flags);
    return planMove({
      before,
      toDistanceMetres: readLength('--to', flags.to),
      toRaisedMetres: told('--to-raised', flags.toRaised, readSigned) ?? before.raisedMetres,
      powerShare: told('--power', flags.power, readPower),
      exactFNumber: told('--aperture', flags.aperture, readFNumber),
      light: flags.light ?? null,
    });
  },
  ratio: (flags) => {
    if ((flags.ratio === undefined) !== (flags.definition === undefined))
      misused('ratio', '--ratio and --definition together (3:1 means two different things)');
    return planRatio({
      keyExactFNumber: told('--key', flags.key, readFNumber),
      fillExactFNumber: told('--fill', flags.fill, readFNumber),
      litExactFNumber: told('--lit', flags.lit, readFNumber),
      shadowExactFNumber: told('--shadow', flags.shadow, readFNumber),
      wanted:
        flags.ratio === undefined || flags.definition === undefined
          ? null
          : { ratio: readRatio('--ratio', flags.ratio), definition: flags.definition },
      light: flags.light ?? null,
    });
  },
};

/** What the meter read, in the one form that was told. */
function readingOf({
  reads,
  ev,
  lux,
  meterConstant,
  shutter,
  iso,
}: PlanFlagsByName['meter']): MeterQuestion['reading'] {
  if ([reads, ev, lux].filter((form) => form !== undefined).length !== 1)
    misused('meter', '--reads, --ev or --lux, one of them,');
  if (meterConstant !== undefined && lux === undefined) misused('meter', '--meter-constant only with --lux');
  if (reads !== undefined) {
    if (shutter !== undefined)
      misused(
        'meter',
        '--shutter only with --ev or --lux (a flash reading does not hang on it, a reading in f-numbers has it in)',
      );
    return { exactFNumber: readFNumber('--reads', reads) };
  }
  if (shutter === undefined || iso === undefined)
    misused('meter', `${ev === undefined ? '--lux' : '--ev'} with --shutter and --iso`);
  const shot = { exactExposureTimeSeconds: readShutter('--shutter', shutter), exactIso: readIso('--iso', iso) };
  return ev === undefined
    ? {
        lux: readLux('--lux', lux ?? ''),
        meterConstantC: told('--meter-constant', meterConstant, readMeterConstant),
        ...shot,
      }
    : { ev100: readEv('--ev', ev), ...shot };
}

const readSigned = (option: string, text: string): number => readLength(option, text, 'signed');

function told<Value>(
  option: string,
  text: string | undefined,
  read: (option: string, text: string) => Value,
): Value | null {
  return text === undefined ? null : read(option, text);
}

function misused(name: PlanCommandName, expected: string): never {
  throw new StopledgerError('bad-usage', `plan ${name}: ${expected} expected`);
}

function lightQuestion(name: PlanCommandName, flags: FallOffFlags): LightQuestion {
  if (flags.round !== undefined && flags.panel !== undefined) misused(name, '--round or --panel, not both,');
  if (flags.below !== undefined && flags.stature !== undefined) misused(name, '--below or --stature, not both,');
  return {
    shape: shapeOf(flags),
    distanceMetres: readLength('--distance', flags.distance),
    raisedMetres: told('--raised', flags.raised, readSigned) ?? 0,
    aim: flags.aim ?? 'face',
    statureMetres: told('--stature', flags.stature, readLength) ?? USUAL_STATURE_METRES,
    belowFaceMetres: told('--below', flags.below, readLengths),
  };
}

function shapeOf({ round, panel }: FallOffFlags): LightShape {
  if (round !== undefined) return { kind: 'disc', radius: readLength('--round', round) / 2 };
  if (panel !== undefined) return { kind: 'rectangle', ...readPanel('--panel', panel) };
  return { kind: 'point' };
}

/** Answers one question of set-up arithmetic. Throws `bad-usage` or `quantity-out-of-range` for one that has no answer. */
export function plan<Name extends PlanCommandName>(
  name: Name,
  flags: PlanFlagsByName[Name],
  context: CommandContext,
): ExitStatus {
  const answer = PlanArithmetic.parse(ANSWERS[name](flags));
  const lengths = Object.entries(flags).flatMap(([key, value]: [string, unknown]) =>
    typeof value === 'string' && key !== 'ratio' ? [value] : [],
  );
  context.stdout.write(
    flags.json === true
      ? `${JSON.stringify(answer, null, 2)}\n`
      : printPlan(answer, { feet: inFeet(...lengths), columns: Math.min(100, context.stdout.columns ?? 100) }),
  );
  return 0;
}
