/** What stands before the camera: a render, on the hall's one wall, under one lamp power, with or without the low fill light. */
import { PART, loadRender, type StudioRender } from './studio.js';

export interface SceneOptions {
  /**
   * All figures before one wall and under one lamp: the background is multiplied to the colour of the reference
   * figure's wall, and renders are scaled so that the wall (not each face) gets the same light from the same lamp.
   * False leaves the render as it is (mean light on the face exactly 1).
   */
  sameWall: boolean;
  /**
   * A second, low light for the legs, as a smooth gain that rises from 0 stops at the chest to this many stops from
   * the knees down. 0: none. An approximation: it multiplies light and truth alike. The wall and floor, farther
   * from that light than the figure, get `FILL_ON_BACKGROUND` of it.
   */
  lowFillStops: number;
  /** A second lamp: another render of the same figure added at so many stops; null: one lamp. */
  secondLight: { light: string; stops: number } | null;
  /** A light on the wall alone, against the wall as rendered, in stops; left out: 0. Truth of the figure is unchanged. */
  wallStops?: number;
}

export interface Scene {
  render: StudioRender;
  linearRgb: Float32Array;
  white: Float32Array;
  /** Light on the figure relative to the render's own, in stops (see `sameWall`). */
  lampGainStops: number;
}

const REFERENCE_FIGURE = 'ada';
/** Rows, as shares of the height, between which the low fill rises. */
const FILL_FROM = 0.34;
const FILL_TO = 0.71;
/** Low light 1.5 m before the figure, wall 1.4 m behind it: inverse square, (1.5 / 2.9)^2. */
const FILL_ON_BACKGROUND = (1.5 / 2.9) ** 2;

/** Mean linear RGB of the wall left of the head; no figure reaches there. */
function wallColour(render: StudioRender): [number, number, number] {
  const sum: [number, number, number] = [0, 0, 0];
  let pixels = 0;
  for (let y = 100; y < 250; y++) {
    for (let x = 40; x < 110; x++) {
      const i = (y * render.widthPx + x) * 3;
      sum[0] += render.linearRgb[i] ?? 0;
      sum[1] += render.linearRgb[i + 1] ?? 0;
      sum[2] += render.linearRgb[i + 2] ?? 0;
      pixels++;
    }
  }
  return [sum[0] / pixels, sum[1] / pixels, sum[2] / pixels];
}

const luminance = (rgb: readonly [number, number, number]) => 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];

/** Gains that bring this figure's wall to the reference's, from a light both were rendered under. */
async function wallPaint(render: StudioRender): Promise<[number, number, number]> {
  const light = render.figure === 'hana' ? 'side45' : 'front';
  const own = wallColour(await loadRender(`${render.figure}-${light}`));
  const reference = wallColour(await loadRender(`${REFERENCE_FIGURE}-${light}`));
  return [reference[0] / own[0], reference[1] / own[1], reference[2] / own[2]];
}

/** The scene for one render. Lights the reference figure was not rendered under keep the render's own scale. */
export async function buildScene(renderName: string, options: SceneOptions): Promise<Scene> {
  const render = await loadRender(renderName);
  const { widthPx, heightPx } = render;
  let paint: [number, number, number] = [1, 1, 1];
  let lampGain = 1;
  if (options.sameWall && render.figure !== REFERENCE_FIGURE) {
    paint = await wallPaint(render);
    if (render.light !== 'far' && render.light !== 'near') {
      const own = wallColour(render);
      const painted: [number, number, number] = [own[0] * paint[0], own[1] * paint[1], own[2] * paint[2]];
      lampGain = luminance(wallColour(await loadRender(`${REFERENCE_FIGURE}-${render.light}`))) / luminance(painted);
    }
  }
  const onWall = 2 ** (options.wallStops ?? 0);
  const second = options.secondLight && (await loadRender(`${render.figure}-${options.secondLight.light}`));
  const secondGain = options.secondLight === null ? 0 : 2 ** options.secondLight.stops;
  const linearRgb = new Float32Array(render.linearRgb.length);
  const white = new Float32Array(render.white.length);
  for (let y = 0; y < heightPx; y++) {
    const t = Math.min(1, Math.max(0, (y / heightPx - FILL_FROM) / (FILL_TO - FILL_FROM)));
    const fill = 2 ** (options.lowFillStops * t * t * (3 - 2 * t)) - 1;
    for (let x = 0; x < widthPx; x++) {
      const p = y * widthPx + x;
      const wall = backgroundShare(render, x, y);
      const gain = lampGain * (1 + fill * (1 - wall * (1 - FILL_ON_BACKGROUND)));
      white[p] = ((render.white[p] ?? 0) + secondGain * (second?.white[p] ?? 0)) * gain;
      for (let c = 0; c < 3; c++) {
        linearRgb[p * 3 + c] =
          ((render.linearRgb[p * 3 + c] ?? 0) + secondGain * (second?.linearRgb[p * 3 + c] ?? 0)) *
          gain *
          (1 + wall * (onWall * (paint[c] ?? 1) - 1));
      }
    }
  }
  return { render, linearRgb, white, lampGainStops: Math.log2(lampGain) };
}

/** Share of background in the 3 x 3 pixels around, so that painting leaves no hard rim. */
function backgroundShare(render: StudioRender, x: number, y: number): number {
  let background = 0;
  let seen = 0;
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      const xx = x + dx;
      const yy = y + dy;
      if (xx < 0 || yy < 0 || xx >= render.widthPx || yy >= render.heightPx) continue;
      seen++;
      if (render.parts[yy * render.widthPx + xx] === PART.background) background++;
    }
  }
  return background / seen;
}
