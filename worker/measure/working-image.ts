/** What the codes of the file can tell of light, with the tone response undone. */
export interface FileScale {
  /** Scene-linear light at which red, green and blue reach the top of the scale. */
  topLinear: readonly [number, number, number];
  /** Scene-linear width of one code of the green channel around a scene-linear value. > 0. */
  codeStepLinear(sceneLinear: number): number;
}

/**
 * The upright, reduced copy that regions and people are measured on: every cell is the mean, in linear
 * light (tone response undone), of a block of whole source pixels.
 */
export interface WorkingImage {
  widthPx: number;
  heightPx: number;
  /** height x width x 3, row-major linear RGB of the file's own primaries, diffuse white = 1. */
  linearRgb: Float32Array;
  /** height x width: luminance, diffuse white = 1. */
  linearY: Float32Array;
  /** height x width: share of the block's pixels with any channel clipped at the top. */
  clippedShare: Float32Array;
  /** height x width: share of the block's pixels with every channel at the bottom. */
  blackShare: Float32Array;
  /** Source pixels along one side of a block. */
  blockPx: number;
  /** Linear RGB -> XYZ, row-major. */
  rgbToXyz: readonly number[];
  fileScale: FileScale;
  /** height x width x 3, sRGB codes of the file's own rendering (no tone response undone), for the models and the preview. */
  rgb8: Uint8Array;
}
