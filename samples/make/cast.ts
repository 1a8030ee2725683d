/**
 * A colour cast as gains on linear sRGB: what a camera balanced for one daylight shows under another.
 * Daylight chromaticity: CIE 15, the D-series formula for 4000..25000 K, from memory
 * (D65: 6504 K gives x 0.3127, y 0.3291). XYZ to linear sRGB: IEC 61966-2-1.
 */
function daylightXyz(kelvin: number): [number, number, number] {
  const t = 1000 / kelvin;
  const x =
    kelvin <= 7000
      ? 0.244063 + 0.09911 * t + 2.9678 * t ** 2 - 4.607 * t ** 3
      : 0.23704 + 0.24748 * t + 1.9018 * t ** 2 - 2.0064 * t ** 3;
  const y = -3 * x * x + 2.87 * x - 0.275;
  return [x / y, 1, (1 - x - y) / y];
}

function xyzToLinearSrgb([x, y, z]: [number, number, number]): [number, number, number] {
  return [
    3.2406 * x - 1.5372 * y - 0.4986 * z,
    -0.9689 * x + 1.8758 * y + 0.0415 * z,
    0.0557 * x - 0.204 * y + 1.057 * z,
  ];
}

const D65_MIRED = 1e6 / 6504;

/**
 * Gains [R, G, B] that show a neutral as light of `shiftMired` more mireds than D65, at unchanged luminance.
 * Positive is warmer. Range -100..+90 (the daylight formula's own).
 */
export function castGains(shiftMired: number): [number, number, number] {
  if (shiftMired === 0) return [1, 1, 1];
  const reference = xyzToLinearSrgb(daylightXyz(1e6 / D65_MIRED));
  const shifted = xyzToLinearSrgb(daylightXyz(1e6 / (D65_MIRED + shiftMired)));
  const gains = shifted.map((v, i) => v / (reference[i] ?? 1)) as [number, number, number];
  const luminance = 0.2126 * gains[0] + 0.7152 * gains[1] + 0.0722 * gains[2];
  return [gains[0] / luminance, gains[1] / luminance, gains[2] / luminance];
}
