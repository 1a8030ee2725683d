import { beforeAll, describe, expect, it } from 'vitest';
import { calibrationFor, photographStudio } from '../accuracy/camera-regions.js';
import { calledSkinOnCloth, heldShare, onAll, onSkin, changeErrors } from '../accuracy/regions.js';
import { worst } from '../accuracy/row.js';
import type { StudioCase } from '../support/studio-cases.js';
import { studioNames } from '../support/studio.js';

/** Truth: the renders' own light, reflectance and parts; the frames are JPEGs of an invented camera. */
const PRESENT = studioNames().length > 0;
if (!PRESENT) console.log('regions-camera: skipped, the renders in ../shared/studio are not here');
const NAMES = ['ada-front', 'ada-side45', 'bea-far', 'bea-side45', 'cole-side75'];

describe.skipIf(!PRESENT)('regions through a hard camera curve (skipped where ../shared is absent)', () => {
  let assumed: StudioCase[] = [];
  let calibrated: StudioCase[] = [];
  beforeAll(async () => {
    assumed = await photographStudio('hard-toe', [], 0, NAMES);
    calibrated = await photographStudio('hard-toe', [await calibrationFor('hard-toe')], 0, NAMES);
  }, 400_000);

  it('holds the light in nine of ten stated intervals, calibrated or not', () => {
    for (const cases of [assumed, calibrated]) {
      expect(heldShare(cases, onSkin)).toBeGreaterThanOrEqual(0.9);
      expect(heldShare(cases, onAll)).toBeGreaterThanOrEqual(0.8);
    }
  });

  it('takes no trousers for skin', () => {
    expect(calledSkinOnCloth([...assumed, ...calibrated])).toBe(0);
  });

  it('calibrated, follows the change between two lights within a quarter stop, in a narrower interval', () => {
    expect(worst(changeErrors(calibrated))).toBeLessThanOrEqual(0.25);
    const width = (c: StudioCase) => c.person!.faceToLowerBodyLightUncertaintyStops!;
    expect(width(calibrated[0]!)).toBeLessThan(width(assumed[0]!));
  });
});
