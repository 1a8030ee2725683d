/**
 * What LibRaw is told. Camera primaries, as-shot white balance, linear, 16 bit, no brightening, no rotation, half
 * size (one pixel of each 2 x 2 mosaic cell, nothing interpolated). `highlight: 1` scales so that NO channel's
 * saturation is cut by white balance: each camera channel keeps a code of its own at which the sensor is full.
 */
export const SETTINGS = {
  outputBps: 16,
  outputColor: 0,
  noAutoBright: true,
  adjustMaximumThr: 0,
  gamm: [1, 1, 0, 0, 0, 0],
  highlight: 1,
  useCameraWb: true,
  halfSize: true,
  userFlip: 0,
};
