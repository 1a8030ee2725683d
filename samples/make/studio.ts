import { existsSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';

/** Where the light renders lie: beside the repository. Only needed to make new frames. */
export const STUDIO_DIR = fileURLToPath(new URL('../../../shared/studio/', import.meta.url));

export const STUDIO_PRESENT = existsSync(STUDIO_DIR);

/** Part ids of `NAME.parts.png`. */
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

/** One render: what stood before the camera, in linear light, before any camera. */
export interface StudioRender {
  name: string;
  figure: string;
  light: string;
  widthPx: number;
  heightPx: number;
  /** height x width x 3, row-major linear sRGB; the mean light on the face is 1 (a white diffuser there reads 1). */
  linearRgb: Float32Array;
  /** height x width: what the light alone does on a white diffuser. */
  white: Float32Array;
  /** height x width: `PART` ids. */
  parts: Uint8Array;
}

const cache = new Map<string, Promise<StudioRender>>();

/** Loads a render by name (`ada-front`); cached. Throws when the studio folder or the render is missing. */
export function loadRender(name: string): Promise<StudioRender> {
  let pending = cache.get(name);
  if (pending === undefined) {
    pending = readRender(name);
    cache.set(name, pending);
  }
  return pending;
}

function words(bytes: Buffer): Uint16Array {
  return new Uint16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2);
}

async function readRender(name: string): Promise<StudioRender> {
  const file = (kind: string) => path.join(STUDIO_DIR, `${name}.${kind}.png`);
  const light = await sharp(await readFile(file('light')))
    .toColourspace('rgb16')
    .raw({ depth: 'ushort' })
    .toBuffer({ resolveWithObject: true });
  const { width, height } = light.info;
  const linearRgb = Float32Array.from(words(light.data), (code) => 2 * (code / 65520) ** 2);
  const half = await sharp(await readFile(file('white')))
    .toColourspace('grey16')
    .raw({ depth: 'ushort' })
    .toBuffer({ resolveWithObject: true });
  const halfWhite = words(half.data);
  const white = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const halfY = Math.min(half.info.height - 1, y >> 1);
    for (let x = 0; x < width; x++) {
      const code = halfWhite[halfY * half.info.width + Math.min(half.info.width - 1, x >> 1)] ?? 0;
      white[y * width + x] = 4 * (code / 65520) ** 2;
    }
  }
  const parts = await sharp(await readFile(file('parts')))
    .toColourspace('b-w')
    .raw()
    .toBuffer();
  const [figure = name, kind = ''] = name.split('-');
  return {
    name,
    figure,
    light: kind,
    widthPx: width,
    heightPx: height,
    linearRgb,
    white,
    parts: new Uint8Array(parts),
  };
}
