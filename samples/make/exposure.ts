/**
 * Exposure model of the virtual camera.
 *
 * Meter calibration: an incident reading at the face, dome to the camera. When the camera has the metered settings and the lamp the
 * metered power, an 18 % surface in the mean light of the face gives sensor exposure 0.18 (and so, through any of the
 * camera curves, sRGB code 118); a white diffuser there gives 1.0. The reading includes the hall's own lamps, as a
 * flash meter's does. The lamp may be set over or under the reading on purpose (`faceMeanStops`).
 *
 * Flash is shorter than the shutter: it follows aperture, ISO and power. The hall's lamps follow the shutter as well.
 */
export interface Settings {
  /** Nominal, as engraved: 5.6, 11. */
  fNumber: number;
  /** Nominal denominator of a second: 125 for 1/125. */
  shutterDenominator: number;
  iso: number;
}

/** Exact value of a nominal third-stop value: ISO 12232 / Exif scales are powers of 2^(1/3) (2^(1/6) for f-numbers). */
function snap(value: number, unit: number, stepsPerDoubling: number): number {
  return unit * 2 ** (Math.round(Math.log2(value / unit) * stepsPerDoubling) / stepsPerDoubling);
}

export function exactSettings(s: Settings): { fNumber: number; exposureTimeSeconds: number; iso: number } {
  return {
    fNumber: snap(s.fNumber, 1, 6),
    exposureTimeSeconds: 1 / snap(s.shutterDenominator, 1, 3),
    iso: snap(s.iso, 100, 3),
  };
}

/** Stops of exposure that `to` gives more than `from`; w = 1 for continuous light, 0 for flash. */
export function settingsStops(from: Settings, to: Settings, shutterWeight: 0 | 1): number {
  const a = exactSettings(from);
  const b = exactSettings(to);
  return (
    Math.log2(b.iso / a.iso) -
    2 * Math.log2(b.fNumber / a.fNumber) +
    shutterWeight * Math.log2(b.exposureTimeSeconds / a.exposureTimeSeconds)
  );
}

export interface LightState {
  /** Settings for which the meter read correct at power 0. */
  metered: Settings;
  /** Lamp power in stops relative to the metered power; null: the lamp did not fire. */
  powerStops: number | null;
  /** What the lamp was set to give the face relative to a correct reading, in stops; 0: as read. */
  faceMeanStops: number;
  /** The hall's lamps at the metered settings, in stops relative to the reading (for example -4.7). */
  ambientStops: number;
}

/** Factors on a render (mean face light 1) that give sensor exposure: from the flash and from the hall's lamps. */
export function exposureFactors(settings: Settings, light: LightState): { flash: number; ambient: number } {
  const ambientMetered = 2 ** light.ambientStops;
  const flashMetered = 2 ** light.faceMeanStops - ambientMetered;
  return {
    flash:
      light.powerStops === null
        ? 0
        : flashMetered * 2 ** (settingsStops(light.metered, settings, 0) + light.powerStops),
    ambient: ambientMetered * 2 ** settingsStops(light.metered, settings, 1),
  };
}
