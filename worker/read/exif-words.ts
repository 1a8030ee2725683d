/** What the numbers of some Exif tags mean, in our words. Exif 2.3 (CIPA DC-008), 4.6.5. Numbers not listed read as null. */
export const EXPOSURE_PROGRAM: ReadonlyMap<number, string> = new Map([
  [1, 'manual'],
  [2, 'program'],
  [3, 'aperture priority'],
  [4, 'shutter priority'],
  [5, 'creative program'],
  [6, 'action program'],
  [7, 'portrait'],
  [8, 'landscape'],
  [9, 'bulb'],
]);

export const EXPOSURE_MODE: ReadonlyMap<number, string> = new Map([
  [0, 'auto'],
  [1, 'manual'],
  [2, 'auto bracket'],
]);

export const METERING_MODE: ReadonlyMap<number, string> = new Map([
  [1, 'average'],
  [2, 'centre-weighted'],
  [3, 'spot'],
  [4, 'multi-spot'],
  [5, 'pattern'],
  [6, 'partial'],
  [255, 'other'],
]);

export const LIGHT_SOURCE: ReadonlyMap<number, string> = new Map([
  [1, 'daylight'],
  [2, 'fluorescent'],
  [3, 'tungsten'],
  [4, 'flash'],
  [9, 'fine weather'],
  [10, 'cloudy'],
  [11, 'shade'],
  [12, 'daylight fluorescent'],
  [13, 'day white fluorescent'],
  [14, 'cool white fluorescent'],
  [15, 'white fluorescent'],
  [16, 'warm white fluorescent'],
  [17, 'standard light A'],
  [18, 'standard light B'],
  [19, 'standard light C'],
  [20, 'D55'],
  [21, 'D65'],
  [22, 'D75'],
  [23, 'D50'],
  [24, 'ISO studio tungsten'],
  [255, 'other'],
]);

export const WHITE_BALANCE: ReadonlyMap<number, 'auto' | 'manual'> = new Map([
  [0, 'auto'],
  [1, 'manual'],
]);
