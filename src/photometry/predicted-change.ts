import { StopledgerError } from '../errors.js';

/** APEX values of one frame; null where the file did not say. */
export interface ApexSettings {
  av: number | null;
  tv: number | null;
  sv: number | null;
}

/** Weight of the shutter for continuous light: all of the time counts. */
export const SHUTTER_WEIGHT_CONTINUOUS = 1;
/** Weight of the shutter for flash below the sync speed: the flash is shorter than the shutter. */
export const SHUTTER_WEIGHT_FLASH = 0;

/**
 * Change of the recorded level in stops that camera settings alone predict between two frames:
 * (Sv2 - Sv1) - (Av2 - Av1) - w x (Tv2 - Tv1). Positive: the second frame comes out brighter.
 * From the APEX equation (Av + Tv = Bv + Sv) with the scene's brightness held.
 *
 * @param shutterWeight 0 (flash) to 1 (continuous light).
 * @returns null when a value that counts is missing; Tv does not count at weight 0.
 * @throws quantity-out-of-range for a weight outside 0..1.
 */
export function predictedChangeStops(from: ApexSettings, to: ApexSettings, shutterWeight: number): number | null {
  if (!(shutterWeight >= 0 && shutterWeight <= 1))
    throw new StopledgerError(
      'quantity-out-of-range',
      `Expected 0 to 1 for shutterWeight but received ${shutterWeight}`,
    );
  if (from.av === null || to.av === null || from.sv === null || to.sv === null) return null;
  const speedAndAperture = to.sv - from.sv - (to.av - from.av);
  if (shutterWeight === 0) return speedAndAperture;
  if (from.tv === null || to.tv === null) return null;
  return speedAndAperture - shutterWeight * (to.tv - from.tv);
}
