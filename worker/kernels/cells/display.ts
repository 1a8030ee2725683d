// How the file itself shows light; AssemblyScript.

import { WHOLE } from './numbers';

/** Places (up to 16,383) of four lights 0..1 (what is outside is clamped) in a table over their square root. */
function places(values: v128, steps: v128): v128 {
  const inside = f32x4.pmin(f32x4.pmax(values, f32x4.splat(0)), f32x4.splat(1));
  const whole = f32x4.add(f32x4.mul(f32x4.sqrt(inside), steps), f32x4.splat(WHOLE));
  return v128.and(whole, i32x4.splat(0x3fff));
}

/**
 * Luminance of cells, and the sRGB codes by which the file itself would show them.
 *
 * @param rgb cells x 3 floats: scene-linear light; 4 bytes more may be read
 * @param settings floats, four at a time: luminance of red, green, blue; linear sRGB (red, green, blue) of the file's red, of
 *   its green, of its blue; 1 / the largest light of the table
 * @param fileTable `steps` + 1 floats: scene-linear -> file-linear, over the square root of light / largest
 * @param codeTable `steps` + 1 bytes: linear -> sRGB code, over the square root
 * @param luminances cells floats
 * @param codes cells x 3 bytes
 */
export function displayCells(
  rgb: usize,
  cells: i32,
  settings: usize,
  tableSteps: i32,
  fileTable: usize,
  codeTable: usize,
  luminances: usize,
  codes: usize,
): void {
  const weights = v128.load(settings);
  const ofRed = v128.load(settings, 16);
  const ofGreen = v128.load(settings, 32);
  const ofBlue = v128.load(settings, 48);
  const share = v128.load32_splat(settings, 64);
  const steps = f32x4.splat(<f32>tableSteps);
  for (let i = 0; i < cells; i++, rgb += 12, luminances += 4, codes += 3) {
    const light = v128.load(rgb);
    const weighed = f32x4.mul(light, weights);
    const luminance = f32x4.extract_lane(weighed, 0) + f32x4.extract_lane(weighed, 1) + f32x4.extract_lane(weighed, 2);
    store<f32>(luminances, luminance > 0 ? luminance : 0);
    const inFile = i32x4.shl(places(f32x4.mul(light, share), steps), 2);
    const r = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 0));
    const g = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 1));
    const b = v128.load32_splat(fileTable + <usize>i32x4.extract_lane(inFile, 2));
    const shown = f32x4.add(f32x4.add(f32x4.mul(ofRed, r), f32x4.mul(ofGreen, g)), f32x4.mul(ofBlue, b));
    const inCodes = places(shown, steps);
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 0)));
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 1)), 1);
    store<u8>(codes, load<u8>(codeTable + <usize>i32x4.extract_lane(inCodes, 2)), 2);
  }
}
