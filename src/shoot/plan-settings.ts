import type { CameraSettings } from '../contracts/plan.js';
import { avFromFNumber, svFromIso, tvFromSeconds } from '../photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../photometry/nominal-scales.js';
import type { FrameFacts } from './facts.js';
import type { Unknown } from './known.js';
import { shutterText } from './wording.js';

export interface PlanSetting {
  name: 'aperture' | 'shutter' | 'ISO';
  planned: string;
  is: string;
  /** How far the setting stands from the plan's, whatever that does to the level. */
  stops: number;
  /** What that does to the level; 0 for the shutter under flash. */
  levelStops: number;
}

/** Each setting that both the plan and the frame tell, against the plan, on the nominal scales' exact values. */
export function offPlanStops(facts: FrameFacts, target: CameraSettings, shutterWeight: number): PlanSetting[] {
  const { exposure } = facts.measurement;
  const settings: PlanSetting[] = [];
  if (target.fNumber !== undefined && facts.av !== null) {
    const stops = avFromFNumber(exactFNumber(target.fNumber).exact) - facts.av;
    settings.push({
      name: 'aperture',
      planned: `f/${target.fNumber}`,
      is: `f/${exposure.fNumber ?? '?'}`,
      stops,
      levelStops: stops,
    });
  }
  if (target.exposureTimeSeconds !== undefined && facts.tv !== null) {
    const stops = tvFromSeconds(exactExposureTimeSeconds(target.exposureTimeSeconds).exact) - facts.tv;
    const is = exposure.exposureTimeSeconds === null ? '?' : shutterText(exposure.exposureTimeSeconds);
    settings.push({
      name: 'shutter',
      planned: shutterText(target.exposureTimeSeconds),
      is,
      stops,
      levelStops: shutterWeight * stops,
    });
  }
  if (target.iso !== undefined && facts.sv !== null) {
    const stops = facts.sv - svFromIso(exactIso(target.iso).exact);
    settings.push({ name: 'ISO', planned: `${target.iso}`, is: `${exposure.iso ?? '?'}`, stops, levelStops: stops });
  }
  return settings;
}

/** How much brighter the frame's settings make it than the plan's; null where the plan names none. */
export function fromPlanStops(facts: FrameFacts, target: CameraSettings | undefined, shutterWeight: number): Unknown {
  if (target === undefined) return null;
  const settings = offPlanStops(facts, target, shutterWeight);
  return settings.length === 0 ? null : settings.reduce((sum, setting) => sum + setting.levelStops, 0);
}
