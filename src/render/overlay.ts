import sharp from 'sharp';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Box, Outline } from '../contracts/quantities.js';
import { asStopledgerError } from '../errors.js';
import { labelPath } from './overlay-font.js';
import { formatStops } from './words.js';

interface Canvas {
  widthPx: number;
  heightPx: number;
  /** Line width that suits the picture's size. */
  penPx: number;
}

const LIGHT = '#fffdf5';
const DARK = '#1a1c22';

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
  const sizePx = canvas.penPx * 8;
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

function hatchedBox(box: Box, canvas: Canvas): string {
  const gap = number(canvas.penPx * 5);
  return (
    `<defs><pattern id="hatch" patternUnits="userSpaceOnUse" width="${gap}" height="${gap}" patternTransform="rotate(35)">` +
    `<rect width="${number(canvas.penPx * 1.6)}" height="${gap}" fill="${DARK}" fill-opacity="0.75"/></pattern></defs>` +
    `<rect x="${number(box.x * canvas.widthPx)}" y="${number(box.y * canvas.heightPx)}" width="${number(box.width * canvas.widthPx)}" height="${number(box.height * canvas.heightPx)}" fill="url(#hatch)" stroke="${DARK}" stroke-width="${number(canvas.penPx)}"/>`
  );
}

/** The drawing that lies over a preview; exported for its own test. */
export function overlaySvg(measurement: FrameMeasurement, widthPx: number, heightPx: number): string {
  const canvas: Canvas = { widthPx, heightPx, penPx: Math.max(1.25, Math.max(widthPx, heightPx) / 512) };
  const lines: string[] = [];
  const labels: string[] = [];
  const { largestAreaBox, largestAreaShare } = measurement.clipping.highlights;
  if (largestAreaBox !== null && largestAreaShare >= 0.0005) {
    lines.push(hatchedBox(largestAreaBox, canvas));
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
            `lower body ${formatStops(person.lowerBody.levelStops)}`,
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
            `face ${formatStops(person.face.levelStops)}`,
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
 * stops from mid-grey, and the box of the largest clipped highlight area hatched (from 0.05 % of the frame).
 *
 * @param previewJpeg the frame's upright preview, any size
 * @returns JPEG bytes of the preview's size
 * @throws StopledgerError `frame-corrupt` when the preview cannot be decoded
 */
export async function renderOverlay(previewJpeg: Uint8Array, measurement: FrameMeasurement): Promise<Buffer> {
  try {
    const { data, info } = await sharp(previewJpeg)
      .toColourspace('srgb')
      .png({ compressionLevel: 0 })
      .toBuffer({ resolveWithObject: true });
    const svg = Buffer.from(overlaySvg(measurement, info.width, info.height));
    return await sharp(data)
      .composite([{ input: svg }])
      .jpeg({ quality: 82 })
      .toBuffer();
  } catch (error) {
    throw asStopledgerError(error, 'frame-corrupt');
  }
}
