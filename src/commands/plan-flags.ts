import type { BodyPlace } from '../plan/body-places.js';

/* What the sub-commands of `stopledger plan` were given, as the command line holds it. */

type Light = 'flash' | 'continuous';
interface JsonFlag {
  json?: boolean;
}
interface MeterFlags extends JsonFlag {
  reads?: string;
  ev?: string;
  lux?: string;
  meterConstant?: string;
  shutter?: string;
  iso?: string;
  target: string;
  power?: string;
  light?: Light;
}
interface TradeFlags extends JsonFlag {
  aperture: string;
  shutter: string;
  iso: string;
  light: Light;
  sync?: string;
  toAperture?: string;
  toShutter?: string;
  toIso?: string;
}
interface GuideFlags extends JsonFlag {
  number: string;
  numberIso?: string;
  distance?: string;
  aperture?: string;
  power?: string;
  iso?: string;
}
export interface FallOffFlags extends JsonFlag {
  distance: string;
  raised?: string;
  round?: string;
  panel?: string;
  aim?: BodyPlace | 'level';
  stature?: string;
  below?: string;
  light?: Light;
}
interface MoveFlags extends FallOffFlags {
  to: string;
  toRaised?: string;
  power?: string;
  aperture?: string;
}
interface RatioFlags extends JsonFlag {
  key?: string;
  fill?: string;
  lit?: string;
  shadow?: string;
  ratio?: string;
  definition?: 'additive' | 'source';
  light?: Light;
}

export interface PlanFlagsByName {
  meter: MeterFlags;
  trade: TradeFlags;
  guide: GuideFlags;
  falloff: FallOffFlags;
  move: MoveFlags;
  ratio: RatioFlags;
}
export type PlanCommandName = keyof PlanFlagsByName;
