import type { Background, Colour, Person } from '../../src/contracts/people.js';
import type { Chromaticity } from '../../src/contracts/quantities.js';
import { uv1960FromXy, xyFromXyz } from '../../src/photometry/chromaticity.js';
import { colourTemperatureFromUv1960 } from '../../src/photometry/colour-temperature.js';
import { multiplyVector, type Matrix3 } from '../../src/photometry/matrix3.js';
import { cellsKernel } from '../cells-kernel.js';
import type { WorkingImage } from './working-image.js';

/** Minkowski exponent of the neutral estimate: between the grey-world mean (1) and the brightest patch (infinity). */
const MINKOWSKI = 6;
/** Cells with more clipped pixels than this have lost their colour. */
const LARGEST_CLIPPED_SHARE = 0.1;

/**
 * The frame's neutral by shades of grey (Finlayson & Trezzi 2004, "Shades of Gray and Colour Constancy", exponent 6;
 * from memory) over cells without people, and the colours of skin and background. A colour temperature here is that
 * of the picture's white as it was rendered: 6504 K, Duv 0 is a file without cast. Comparing frames needs differences only.
 *
 * @param regions height x width codes, 0 where there is no person.
 */
export function colourOf(
  image: WorkingImage,
  regions: Uint8Array,
  people: readonly Person[],
  background: Background,
): Colour {
  const { means, cells } = minkowskiMeans(image, regions);
  const { clippedShare } = image;
  const [x, y, z] = multiplyVector(image.rgbToXyz as Matrix3, means);
  const chromaticity = cells > 0 ? xyFromXyz({ x, y, z }) : null;
  const neutral = temperature(chromaticity);
  const face = people.find((p) => p.main)?.face ?? null;
  const skin = temperature(face?.skinChromaticity ?? null);
  const behind = temperature(background.chromaticity);
  return {
    neutral: {
      chromaticity,
      kelvin: neutral?.kelvin ?? null,
      mired: neutral?.mired ?? null,
      duv: neutral?.duv ?? null,
      restsOn: `shades of grey, exponent ${MINKOWSKI}, over ${Math.round((100 * cells) / clippedShare.length)} % of the frame (no people, nothing clipped)`,
    },
    skinChromaticity: face?.skinChromaticity ?? null,
    skinMired: skin?.mired ?? null,
    skinDuv: skin?.duv ?? null,
    backgroundMired: behind?.mired ?? null,
    backgroundDuv: behind?.duv ?? null,
  };
}

/** Cells handed to the kernel at a time: few enough to stay in the cache. */
const PIECE = 4096;

/** Minkowski means of red, green and blue over the cells that count. The kernel has the exponent written out. */
function minkowskiMeans(
  { linearRgb, clippedShare }: WorkingImage,
  regions: Uint8Array,
): { means: [number, number, number]; cells: number } {
  const { kernel, at, buffer } = cellsKernel({ sums: 24, rgb: 12 * PIECE, regions: PIECE, clipped: 4 * PIECE });
  const sums = new Float64Array(buffer, at.sums, 3).fill(0);
  const pieceRgb = new Float32Array(buffer, at.rgb, 3 * PIECE);
  const pieceRegions = new Uint8Array(buffer, at.regions, PIECE);
  const pieceClipped = new Float32Array(buffer, at.clipped, PIECE);
  let cells = 0;
  for (let from = 0; from < clippedShare.length; from += PIECE) {
    const to = Math.min(clippedShare.length, from + PIECE);
    pieceRgb.set(linearRgb.subarray(3 * from, 3 * to));
    pieceRegions.set(regions.subarray(from, to));
    pieceClipped.set(clippedShare.subarray(from, to));
    cells += kernel.addSixthPowers(at.rgb, to - from, at.regions, at.clipped, LARGEST_CLIPPED_SHARE, at.sums);
  }
  const mean = (sum: number) => (sum / Math.max(1, cells)) ** (1 / MINKOWSKI);
  return { means: [mean(sums[0]!), mean(sums[1]!), mean(sums[2]!)], cells };
}

function temperature(chromaticity: Chromaticity | null) {
  return chromaticity ? colourTemperatureFromUv1960(uv1960FromXy(chromaticity)) : null;
}
