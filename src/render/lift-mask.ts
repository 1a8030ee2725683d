import sharp from 'sharp';
import { REGION_CODES, type FrameProducts } from '../contracts/jobs.js';
import type { Outline } from '../contracts/quantities.js';
import type { Region } from '../contracts/report.js';
import { asStopledgerError } from '../errors.js';
import { withoutBackgroundInside, type CodedPicture } from './lift-mask-background.js';
import { blurred, boxMean, fieldOf, guidedFilter, type Field } from './lift-mask-filters.js';
import { reachOf } from './lift-mask-reach.js';

export type LiftRegion = Exclude<Region, 'frame'>;
export const LIFT_REGIONS = ['face', 'lower-body', 'background'] as const satisfies readonly LiftRegion[];

/** What masks are made of: the frame's region codes, and its preview to lean their edges on. */
export interface MaskGround extends CodedPicture {
  /** 1 where the preview shows background and the codes of the measurement had the person; `codes` say background. */
  won: Uint8Array;
}

/** How far the person's edge may move to meet the preview's, and how much contrast counts as an edge; ours, by eye. */
const EDGE = { radiusShare: 0.008, epsilon: 0.0002 } as const;
/**
 * How softly a lift fades into the rest of the person, as a share of the region's own height: light falls off gradually
 * down a body, a face ends in hair and neck. Ours, by eye.
 */
const FEATHER_SHARE = { face: 0.1, 'lower-body': 0.09 } as const;
const LEAST_FEATHER_PX = 2;

const LOWER_BODY = new Set<number>([
  REGION_CODES.thighSkin,
  REGION_CODES.thighCloth,
  REGION_CODES.shinSkin,
  REGION_CODES.shinCloth,
  REGION_CODES.foot,
]);
const isMain = (code: number): boolean => code > REGION_CODES.background && code < REGION_CODES.otherPerson;

/** Reads the products of a measurement. Throws `frame-corrupt` when they are no pictures of one size. */
export async function maskGround({ previewJpeg, regionsPng }: FrameProducts): Promise<MaskGround> {
  try {
    const { data: codes, info } = await sharp(regionsPng).extractChannel(0).raw().toBuffer({ resolveWithObject: true });
    const rgb = await sharp(previewJpeg)
      .resize({ width: info.width, height: info.height, fit: 'fill' })
      .toColourspace('srgb')
      .removeAlpha()
      .raw()
      .toBuffer();
    const size = { widthPx: info.width, heightPx: info.height };
    const pixels = size.widthPx * size.heightPx;
    const channel = (c: number): Field => ({
      ...size,
      values: Float32Array.from({ length: pixels }, (_, i) => (rgb[i * 3 + c] ?? 0) / 255),
    });
    const coded = { ...size, codes: new Uint8Array(codes), guide: [channel(0), channel(1), channel(2)] };
    const trimmed = withoutBackgroundInside(coded);
    return { ...coded, codes: trimmed, won: coded.codes.map((code, i) => (code === trimmed[i] ? 0 : 1)) };
  } catch (error) {
    throw asStopledgerError(error, 'frame-corrupt');
  }
}

/**
 * How much of a region's lift each pixel takes, 0..1, at preview size: 1 deep in the region, 0 outside, feathered
 * between, and at the person's outline following the edges of the preview. The main person's face and lower body;
 * `background` is all that is nobody.
 *
 * @param outline the lift's own outline; for a face it takes in eyes and mouth, which its skin leaves out
 */
export function liftMask(ground: MaskGround, region: LiftRegion, outline: Outline): Field {
  const { widthPx, heightPx, codes, guide, won } = ground;
  const field = (inside: (code: number, i: number) => boolean): Field => ({
    widthPx,
    heightPx,
    values: Float32Array.from(codes, (code, i) => (inside(code, i) ? 1 : 0)),
  });
  const edgePx = Math.max(2, EDGE.radiusShare * Math.max(widthPx, heightPx));
  const fitted = (mask: Field): Float32Array => onlyNearEdges(guidedFilter(mask, guide, edgePx, EDGE.epsilon), mask, edgePx); // prettier-ignore
  if (region === 'background') {
    const nobody = fitted(field((code) => code === REGION_CODES.background));
    return { widthPx, heightPx, values: nobody };
  }
  const person = field(isMain);
  const inOutline = region === 'face' ? insideOf(outline, widthPx, heightPx) : null;
  const core = field((code, i) =>
    region === 'face' ? code === REGION_CODES.faceSkin || (isMain(code) && inOutline?.[i] === 1) : LOWER_BODY.has(code),
  );
  const sigmaPx = Math.max(LEAST_FEATHER_PX, FEATHER_SHARE[region] * regionHeightPx(core));
  // Blurred inside the person only, as far as one comes without leaving it, so that the lift fades into the body and not
  // across its edge.
  const reach = reachOf(person, core, sigmaPx, edgePx);
  const share = blurred(core, sigmaPx);
  const whole = blurred(fieldOf(person, person.values.map((one, i) => one * (reach[i] ?? 0))), sigmaPx); // prettier-ignore
  // A gap narrower than the window of the edges has no inside of its own there: what was won for it stays out.
  const beside = boxMean(person, 1);
  const values = fitted(person).map((s, i) => {
    const w = whole[i] ?? 0;
    const most = won[i] === 1 ? (beside[i] ?? 0) / 2 : 1;
    return w <= 1e-6 ? 0 : Math.min(most, s * (reach[i] ?? 0) * ((share[i] ?? 0) / w));
  });
  return fieldOf(core, values);
}

/** Shares of the mask's own pixels in the window from which on, and up to which, its inside and outside are certain. */
const CERTAIN = { outside: 0.1, inside: 0.9 } as const;

/** Away from the mask's edges the mask itself holds, whatever the preview's texture: laces are no holes in a shoe. */
function onlyNearEdges(fitted: Float32Array, mask: Field, edgePx: number): Float32Array {
  const around = boxMean(mask, edgePx);
  return fitted.map((value, i) => {
    const share = around[i] ?? 0;
    if (share >= CERTAIN.inside) return value + ((1 - value) * (share - CERTAIN.inside)) / (1 - CERTAIN.inside);
    return share <= CERTAIN.outside ? (value * share) / CERTAIN.outside : value;
  });
}

function regionHeightPx({ widthPx, heightPx, values }: Field): number {
  let first = -1;
  let last = -1;
  for (let y = 0; y < heightPx; y += 1) {
    if (!values.subarray(y * widthPx, (y + 1) * widthPx).some((v) => v > 0)) continue;
    if (first < 0) first = y;
    last = y;
  }
  return first < 0 ? 0 : last - first + 1;
}

/** 1 for pixels whose middle is inside a polygon of shares of the frame (even-odd rule), else 0. */
function insideOf(outline: Outline, widthPx: number, heightPx: number): Uint8Array {
  const inside = new Uint8Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y += 1) {
    const line = (y + 0.5) / heightPx;
    const crossings: number[] = [];
    outline.forEach(([x1, y1], i) => {
      const [x0, y0] = outline[(i + outline.length - 1) % outline.length] ?? [x1, y1];
      if (y0 > line !== y1 > line) crossings.push((x0 + ((line - y0) / (y1 - y0)) * (x1 - x0)) * widthPx);
    });
    crossings.sort((a, b) => a - b);
    for (let k = 0; k + 1 < crossings.length; k += 2) {
      const from = Math.max(0, Math.ceil((crossings[k] ?? 0) - 0.5));
      const to = Math.min(widthPx, Math.ceil((crossings[k + 1] ?? 0) - 0.5));
      inside.fill(1, y * widthPx + from, Math.max(y * widthPx + from, y * widthPx + to));
    }
  }
  return inside;
}
