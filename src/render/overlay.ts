import sharp, { type OverlayOptions } from 'sharp';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Box, Outline } from '../contracts/quantities.js';
import { asStopledgerError } from '../errors.js';
import { findClippedAreas } from './clipped-areas.js';
import { stippleAreas } from './overlay-stipple.js';
import { labelPath } from './overlay-font.js';
import { formatStops } from './words.js';

interface Canvas {
  widthPx: number;
  heightPx: number;
  /** Line width that suits the picture's size. */
  penPx: number;
}

/** Smaller clipped areas are not drawn; of the frame, and of its preview. */
const LEAST_AREA_SHARE = 0.0005;

const LIGHT = '#fffdf5';
const DARK = '#1a1c22';

const penFor = (widthPx: number, heightPx: number): number => Math.max(1.25, Math.max(widthPx, heightPx) / 512);

const number = (value: number): string => String(Number(value.toFixed(1)));

function pathOf(outline: Outline, canvas: Canvas): string {
  const points = outline.map(([x, y]) => `${number(x * canvas.widthPx)},${number(y * canvas.heightPx)}`);
  return `M${points.join('L')}Z`;
}

/** A light line with a pattern over a dark one, so that it shows on any ground. */
function patternedLine(path: string, canvas: Canvas, dashes: readonly number[]): string {
  const pattern = dashes.map((length) => number(length * canvas.penPx)).join(' ');
  return (
    `<path d="${path}" fill="none" stroke="${DARK}" stroke-width="${number(canvas.penPx * 2)}" stroke-linejoin="round"/>` +
    `<path d="${path}" fill="none" stroke="${LIGHT}" stroke-width="${number(canvas.penPx)}" stroke-dasharray="${pattern}" stroke-linejoin="round"/>`
  );
}

/** Text on a dark plate, kept inside the picture; `x`, `y` is where its left top should stand. */
function label(text: string, x: number, y: number, canvas: Canvas): string {
  const sizePx = canvas.penPx * 11;
  const { data, widthPx } = labelPath(text, sizePx);
  const pad = sizePx * 0.35;
  const plateWidth = widthPx + 2 * pad;
  const plateHeight = sizePx + 2 * pad * 0.8;
  const left = Math.max(0, Math.min(canvas.widthPx - plateWidth, x));
  const top = Math.max(0, Math.min(canvas.heightPx - plateHeight, y));
  return (
    `<rect x="${number(left)}" y="${number(top)}" width="${number(plateWidth)}" height="${number(plateHeight)}" rx="${number(pad * 0.5)}" fill="${DARK}" fill-opacity="0.82"/>` +
    `<path transform="translate(${number(left + pad)} ${number(top + pad * 0.8 + sizePx * 0.78)})" d="${data}" fill="${LIGHT}"/>`
  );
}

function edges(outline: Outline): { left: number; right: number; top: number; bottom: number } {
  const xs = outline.map(([x]) => x);
  const ys = outline.map(([, y]) => y);
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

/** Four corners around the largest clipped area. */
function cornerMarks(box: Box, canvas: Canvas): string {
  const left = box.x * canvas.widthPx;
  const top = box.y * canvas.heightPx;
  const right = left + box.width * canvas.widthPx;
  const bottom = top + box.height * canvas.heightPx;
  const arm = Math.min(canvas.penPx * 10, (right - left) / 2, (bottom - top) / 2);
  const corner = (x: number, y: number, dx: number, dy: number): string =>
    `M${number(x + dx * arm)},${number(y)}L${number(x)},${number(y)}L${number(x)},${number(y + dy * arm)}`;
  const path =
    corner(left, top, 1, 1) + corner(right, top, -1, 1) + corner(right, bottom, -1, -1) + corner(left, bottom, 1, -1);
  return (
    `<path d="${path}" fill="none" stroke="${DARK}" stroke-width="${number(canvas.penPx * 2.5)}"/>` +
    `<path d="${path}" fill="none" stroke="${LIGHT}" stroke-width="${number(canvas.penPx)}"/>`
  );
}

/** The drawing that lies over a preview; exported for its own test. */
export function overlaySvg(measurement: FrameMeasurement, widthPx: number, heightPx: number): string {
  const canvas: Canvas = { widthPx, heightPx, penPx: penFor(widthPx, heightPx) };
  const lines: string[] = [];
  const labels: string[] = [];
  const { largestAreaBox, largestAreaShare } = measurement.clipping.highlights;
  if (largestAreaBox !== null && largestAreaShare >= LEAST_AREA_SHARE) {
    lines.push(cornerMarks(largestAreaBox, canvas));
    labels.push(
      label(
        `clipped ${(largestAreaShare * 100).toFixed(2)} %`,
        largestAreaBox.x * widthPx,
        (largestAreaBox.y + largestAreaBox.height) * heightPx,
        canvas,
      ),
    );
  }
  for (const person of measurement.people) {
    if (person.lowerBody !== null && person.lowerBody.outline.length >= 3) {
      lines.push(patternedLine(pathOf(person.lowerBody.outline, canvas), canvas, [9, 3, 2, 3]));
      const at = edges(person.lowerBody.outline);
      if (person.lowerBody.levelStops !== null) {
        labels.push(
          label(
            `lower body ${formatStops(person.lowerBody.levelStops)} stops`,
            at.right * widthPx + canvas.penPx * 3,
            ((at.top + at.bottom) / 2) * heightPx,
            canvas,
          ),
        );
      }
    }
    if (person.face !== null && person.face.outline.length >= 3) {
      lines.push(patternedLine(pathOf(person.face.outline, canvas), canvas, [4, 3]));
      const at = edges(person.face.outline);
      if (person.face.levelStops !== null) {
        labels.push(
          label(
            `face ${person.face.levelIsAtLeast ? 'at least ' : ''}${formatStops(person.face.levelStops)} stops`,
            at.right * widthPx + canvas.penPx * 3,
            at.top * heightPx,
            canvas,
          ),
        );
      }
    }
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}">${lines.join('')}${labels.join('')}</svg>`;
}

/**
 * The preview with what was measured drawn over it: faces dashed, lower bodies in dash and dot, each with its level in
 * stops from mid-grey, and every clipped highlight area from 0.05 % of the frame outlined and dotted; corners and the
 * share stand at the largest.
 *
 * @param previewJpeg the frame's upright preview, any size
 * @returns JPEG bytes of the preview's size
 * @throws StopledgerError `frame-corrupt` when the preview cannot be decoded
 */
export async function renderOverlay(previewJpeg: Uint8Array, measurement: FrameMeasurement): Promise<Buffer> {
  try {
    const { data, info } = await sharp(previewJpeg)
      .toColourspace('srgb')
      .removeAlpha()
      .raw()
      .toBuffer({ resolveWithObject: true });
    const raw = { width: info.width, height: info.height };
    const layers: OverlayOptions[] = [];
    const { anyChannelShare, fromCode8 } = measurement.clipping.highlights;
    const { mask, areas } = findClippedAreas(
      data,
      { widthPx: info.width, heightPx: info.height },
      { fromCode8, clippedShare: anyChannelShare, leastAreaShare: LEAST_AREA_SHARE },
    );
    if (areas > 0) {
      const dots = stippleAreas(mask, info.width, info.height, penFor(info.width, info.height));
      layers.push({ input: Buffer.from(dots.buffer), raw: { ...raw, channels: 4 } });
    }
    layers.push({ input: Buffer.from(overlaySvg(measurement, info.width, info.height)) });
    return await sharp(data, { raw: { ...raw, channels: 3 } })
      .composite(layers)
      .jpeg({ quality: 82 })
      .toBuffer();
  } catch (error) {
    throw asStopledgerError(error, 'frame-corrupt');
  }
}
