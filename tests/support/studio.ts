import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import sharp from 'sharp';
import type { WorkingImage } from '../../worker/measure/working-image.js';

/**
 * Rendered figures under one soft light, kept beside the repository: `light` is linear light, `white`
 * what the light alone does, `parts` which part of the figure each pixel is, `truth` the differences.
 */
export const STUDIO_FOLDER = path.resolve(import.meta.dirname, '../../../shared/studio');

/** Names of the renders; empty where they are not present. */
export function studioNames(): string[] {
  if (!existsSync(STUDIO_FOLDER)) return [];
  return readdirSync(STUDIO_FOLDER)
    .filter((file) => file.endsWith('.light.png'))
    .map((file) => file.slice(0, -'.light.png'.length))
    .sort();
}

/** Values of `parts`. */
export const PART = {
  background: 0,
  face: 1,
  hair: 2,
  neck: 3,
  torso: 4,
  arms: 5,
  hands: 6,
  upperLegs: 7,
  lowerLegs: 8,
  feet: 9,
} as const;

export interface StudioTruth {
  faceToLegs: { brightnessStops: number; lightStops: number };
  faceToLowerLegs: { brightnessStops: number; lightStops: number };
  faceLeftToRight: { brightnessStops: number; lightStops: number };
}

export interface StudioRender {
  name: string;
  widthPx: number;
  heightPx: number;
  /** height x width x 3, linear light, sRGB primaries, 1 = diffuse white at the face. */
  linearRgb: Float32Array;
  /** height x width: light alone, on white surfaces; 0 off the figure. */
  white: Float32Array;
  /** height x width, values of `PART`. */
  parts: Uint8Array;
  truth: StudioTruth;
}

/** Linear sRGB -> XYZ, D65 (IEC 61966-2-1). */
const SRGB_TO_XYZ = [0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505] as const;

async function read16(file: string, grey: boolean): Promise<{ codes: Uint16Array; widthPx: number; heightPx: number }> {
  const { data, info } = await sharp(file)
    .toColourspace(grey ? 'grey16' : 'rgb16')
    .raw({ depth: 'ushort' })
    .toBuffer({ resolveWithObject: true });
  const all = new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2);
  const wanted = grey ? 1 : 3;
  const codes =
    info.channels === wanted
      ? all
      : Uint16Array.from(
          { length: info.width * info.height * wanted },
          (_, i) => all[Math.floor(i / wanted) * info.channels + (i % wanted)]!,
        );
  return { codes, widthPx: info.width, heightPx: info.height };
}

function squares(codes: Uint16Array): Float32Array {
  const out = new Float32Array(codes.length);
  for (let i = 0; i < codes.length; i++) out[i] = 2 * (codes[i]! / 65520) ** 2;
  return out;
}

const loaded = new Map<string, Promise<StudioRender>>();

/** Reads one render with its truth; kept for the next test that wants it, so never write into it. */
export function loadStudioRender(name: string): Promise<StudioRender> {
  const render = loaded.get(name) ?? readStudioRender(name);
  loaded.set(name, render);
  return render;
}

async function readStudioRender(name: string): Promise<StudioRender> {
  const at = (ending: string) => path.join(STUDIO_FOLDER, `${name}.${ending}`);
  const light = await read16(at('light.png'), false);
  const half = await read16(at('white.png'), true);
  const partsRaw = await sharp(at('parts.png')).toColourspace('b-w').raw().toBuffer({ resolveWithObject: true });
  const { widthPx, heightPx } = light;
  const pixels = widthPx * heightPx;
  const white = new Float32Array(pixels);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const code = half.codes[Math.min(half.heightPx - 1, y >> 1) * half.widthPx + Math.min(half.widthPx - 1, x >> 1)]!;
      white[y * widthPx + x] = 4 * (code / 65520) ** 2;
    }
  }
  return {
    name,
    widthPx,
    heightPx,
    linearRgb: squares(light.codes),
    white,
    parts: Uint8Array.from({ length: pixels }, (_, i) => partsRaw.data[i * partsRaw.info.channels]!),
    truth: JSON.parse(readFileSync(at('truth.json'), 'utf8')) as StudioTruth,
  };
}

/** Share `keep` of a render (shares of its width and height), mirrored or not. */
export function cropRender(
  render: StudioRender,
  keep: { left?: number; top?: number; right?: number; bottom?: number; mirror?: boolean },
): StudioRender {
  const x0 = Math.round((keep.left ?? 0) * render.widthPx);
  const x1 = Math.round((keep.right ?? 1) * render.widthPx);
  const y0 = Math.round((keep.top ?? 0) * render.heightPx);
  const y1 = Math.round((keep.bottom ?? 1) * render.heightPx);
  const widthPx = x1 - x0;
  const heightPx = y1 - y0;
  const linearRgb = new Float32Array(widthPx * heightPx * 3);
  const white = new Float32Array(widthPx * heightPx);
  const parts = new Uint8Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const from = (y0 + y) * render.widthPx + (keep.mirror ? x1 - 1 - x : x0 + x);
      const to = y * widthPx + x;
      white[to] = render.white[from]!;
      parts[to] = render.parts[from]!;
      for (let c = 0; c < 3; c++) linearRgb[to * 3 + c] = render.linearRgb[from * 3 + c]!;
    }
  }
  return { ...render, widthPx, heightPx, linearRgb, white, parts };
}

/** sRGB codes over the square root of light: fine enough to be exact to a code. */
const CODE_STEPS = 16384;
const CODES = Uint8Array.from({ length: CODE_STEPS + 1 }, (_, i) => {
  const v = (i / CODE_STEPS) ** 2;
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
});

function srgbCode(linear: number): number {
  return CODES[Math.round(Math.sqrt(Math.min(1, Math.max(0, linear))) * CODE_STEPS)]!;
}

function srgbLinear(code: number): number {
  const v = code / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}

/** Light of one sRGB code around a value. */
function srgbStep(linear: number): number {
  const code = Math.min(254, srgbCode(linear));
  return srgbLinear(code + 1) - srgbLinear(code);
}

/**
 * A working image from a render: light scaled by 2^exposureStops, clipped at 1, coded as sRGB for the
 * models; `eightBit` measures on the 8-bit codes instead of on the exact light.
 */
export function workingImageOf(
  render: StudioRender,
  options: { exposureStops?: number; eightBit?: boolean } = {},
): WorkingImage {
  const gain = 2 ** (options.exposureStops ?? 0);
  const pixels = render.widthPx * render.heightPx;
  const linearRgb = new Float32Array(pixels * 3);
  const rgb8 = new Uint8Array(pixels * 3);
  const linearY = new Float32Array(pixels);
  const clippedShare = new Float32Array(pixels);
  const blackShare = new Float32Array(pixels);
  for (let i = 0; i < pixels; i++) {
    let top = false;
    let bottom = true;
    for (let c = 0; c < 3; c++) {
      const light = render.linearRgb[i * 3 + c]! * gain;
      const code = srgbCode(light);
      rgb8[i * 3 + c] = code;
      linearRgb[i * 3 + c] = options.eightBit ? srgbLinear(code) : Math.min(1, light);
      top ||= code === 255;
      bottom &&= code === 0;
    }
    clippedShare[i] = top ? 1 : 0;
    blackShare[i] = bottom ? 1 : 0;
    linearY[i] = 0.2126 * linearRgb[i * 3]! + 0.7152 * linearRgb[i * 3 + 1]! + 0.0722 * linearRgb[i * 3 + 2]!;
  }
  return {
    widthPx: render.widthPx,
    heightPx: render.heightPx,
    linearRgb,
    linearY,
    clippedShare,
    blackShare,
    blockPx: 1,
    rgbToXyz: SRGB_TO_XYZ,
    fileScale: { topLinear: [1, 1, 1], codeStepLinear: options.eightBit ? srgbStep : () => 1 / 65520 },
    rgb8,
  };
}
