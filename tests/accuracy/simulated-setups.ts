import { avFromFNumber, svFromIso, tvFromSeconds } from '../../src/photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../src/photometry/nominal-scales.js';
import type { SeededRandom } from './seeded-random.js';

export interface Settings {
  fNumber: number;
  exposureTimeSeconds: number;
  iso: number;
}

export interface SimulatedSetup {
  settings: Settings;
  /** Light on the subject and on the wall (with the wall's reflectance): levels at settings stops 0. */
  lightStops: number;
  wallLightStops: number;
  sideToSideStops: number;
  mired: number;
  fallOffStops: number;
  focalMm: number;
  tellsFlash: boolean;
}

const F_NUMBERS = [2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11] as const;
const ISOS = [100, 125, 160, 200, 250, 320, 400, 500, 640, 800] as const;
const FLASH_TIMES = [1 / 125, 1 / 160, 1 / 200] as const;
const CONTINUOUS_TIMES = [1 / 60, 1 / 80, 1 / 100, 1 / 125, 1 / 160, 1 / 200, 1 / 250] as const;

/** How bright settings make a scene, against f/8, 1/125 s, ISO 100. */
export function settingsStopsOf(
  { fNumber, exposureTimeSeconds, iso }: Settings,
  light: 'flash' | 'continuous',
): number {
  const sv = svFromIso(exactIso(iso).exact) - 5;
  const av = avFromFNumber(exactFNumber(fNumber).exact) - 6;
  const tv = tvFromSeconds(exactExposureTimeSeconds(exposureTimeSeconds).exact) - 7;
  return sv - av - (light === 'continuous' ? tv : 0);
}

export interface SimulatedLight {
  light: 'flash' | 'continuous';
  /** Share of continuous light beside the flash, at the set-up's own shutter. */
  ambientShare: number;
}

/** What another shutter than the set-up's does where ambient stands beside the flash: F + A t, exactly. */
export function shutterStops(frame: Settings, setup: SimulatedSetup, { light, ambientShare }: SimulatedLight): number {
  if (light !== 'flash' || ambientShare === 0) return 0;
  const ratio =
    exactExposureTimeSeconds(frame.exposureTimeSeconds).exact /
    exactExposureTimeSeconds(setup.settings.exposureTimeSeconds).exact;
  return Math.log2(1 - ambientShare + ambientShare * ratio);
}

/** One to five set-ups, each metered: settings and light give a correct exposure within what meters and dials allow. */
export function simulateSetups(random: SeededRandom, light: 'flash' | 'continuous'): SimulatedSetup[] {
  const tellsFlash = random.chance(0.7);
  const setups: SimulatedSetup[] = [];
  const count = random.whole(1, 5);
  for (let s = 0; s < count; s++) {
    let setup = simulateSetup(random, light, tellsFlash);
    const before = setups.at(-1);
    while (before !== undefined && !differs(before, setup)) setup = simulateSetup(random, light, tellsFlash);
    setups.push(setup);
  }
  return setups;
}

function simulateSetup(random: SeededRandom, light: 'flash' | 'continuous', tellsFlash: boolean): SimulatedSetup {
  const settings: Settings = {
    fNumber: random.pick(F_NUMBERS),
    exposureTimeSeconds: random.pick(light === 'flash' ? FLASH_TIMES : CONTINUOUS_TIMES),
    iso: random.pick(ISOS),
  };
  const lightStops = -settingsStopsOf(settings, light) + random.normal(0.15);
  return {
    settings,
    lightStops,
    wallLightStops: lightStops + random.between(-3.5, 0.8),
    sideToSideStops: random.between(0.1, 2.8),
    mired: random.between(165, 215),
    // Well inside the tolerance: legs that get a third of a stop less are no clean frame.
    fallOffStops: random.between(-0.1, 0.2),
    focalMm: random.pick([35, 50, 70, 85, 105]),
    tellsFlash,
  };
}

/** Another arrangement that somebody would call so: some of its parts differ plainly. */
function differs(a: SimulatedSetup, b: SimulatedSetup): boolean {
  return (
    Math.abs(a.lightStops - b.lightStops) >= 0.5 ||
    Math.abs(a.wallLightStops - b.wallLightStops) >= 0.7 ||
    Math.abs(a.sideToSideStops - b.sideToSideStops) >= 0.9 ||
    Math.abs(a.mired - b.mired) >= 30
  );
}
