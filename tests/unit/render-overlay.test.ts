import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { placeLabels, stripLabel } from '../../src/render/html/strip-labels.js';
import { hatchClipped } from '../../src/render/overlay-hatch.js';
import { labelPath } from '../../src/render/overlay-font.js';
import { overlaySvg, renderOverlay } from '../../src/render/overlay.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeFlag, fakeReportFrame } from '../support/report.js';

const grey = (width: number, height: number, level = 120) =>
  sharp({ create: { width, height, channels: 3, background: { r: level, g: level, b: level } } })
    .jpeg({ quality: 95 })
    .toBuffer();

const withLegs = fakeMeasurement({ lowerBody: { levelStops: -1.5, basis: 'clothing' } });

async function changed(measurement: typeof withLegs, at: (x: number, y: number) => boolean): Promise<number> {
  const preview = await grey(400, 600);
  const drawn = await sharp(await renderOverlay(preview, measurement))
    .raw()
    .toBuffer();
  let count = 0;
  for (let y = 0; y < 600; y += 1) {
    for (let x = 0; x < 400; x += 1) {
      if (at(x / 400, y / 600) && Math.abs((drawn[(y * 400 + x) * 3] ?? 0) - 120) > 40) count += 1;
    }
  }
  return count;
}

describe('the overlay', () => {
  it('is a JPEG of the preview’s size', async () => {
    const meta = await sharp(await renderOverlay(await grey(333, 500), withLegs)).metadata();
    expect(meta).toMatchObject({ format: 'jpeg', width: 333, height: 500 });
  });

  it('draws around the face and the lower body where they are, and leaves their inside alone', async () => {
    const face = withLegs.people[0]?.face?.outline ?? [];
    expect(face[0]).toEqual([0.4, 0.1]);
    const nearLeftEdge = (x: number, y: number) => Math.abs(x - 0.4) < 0.01 && y > 0.12 && y < 0.2;
    expect(await changed(withLegs, nearLeftEdge)).toBeGreaterThan(30);
    expect(await changed(withLegs, (x, y) => x > 0.43 && x < 0.52 && y > 0.13 && y < 0.2)).toBe(0);
    expect(await changed(withLegs, (x, y) => Math.abs(x - 0.4) < 0.01 && y > 0.65 && y < 0.9)).toBeGreaterThan(60);
    expect(await changed(fakeMeasurement({ person: false }), () => true)).toBe(0);
  });

  it('tells face and lower body apart by the pattern of the line, not by colour', () => {
    const dashes = [...overlaySvg(withLegs, 400, 600).matchAll(/stroke-dasharray="([^"]+)"/g)].map((m) => m[1]);
    expect(new Set(dashes).size).toBe(2);
  });

  it('keeps labels inside the picture, drawn as outlines so that no font is needed', () => {
    const svg = overlaySvg(withLegs, 60, 90);
    expect(svg).not.toContain('<text');
    for (const [, x, y, width, height] of svg.matchAll(
      /<rect x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)" height="([\d.]+)"/g,
    )) {
      expect(Number(x)).toBeGreaterThanOrEqual(0);
      expect(Number(y)).toBeGreaterThanOrEqual(0);
      expect(Number(y) + Number(height)).toBeLessThanOrEqual(90.2);
      expect(Number(width)).toBeGreaterThan(0);
    }
  });

  it('has outlines for every letter that a label may hold', () => {
    const empty = labelPath(' ', 20).data;
    for (const letter of 'face lower body clipped stops 0123456789 + − . %'.replaceAll(' ', '')) {
      expect(labelPath(letter, 20).data, letter).not.toBe(empty);
    }
  });

  it('refuses what is no picture', async () => {
    await expect(renderOverlay(Buffer.from('no'), withLegs)).rejects.toMatchObject({ code: 'frame-corrupt' });
  });
});

describe('hatching', () => {
  it('covers clipped pixels inside the box and no others', () => {
    const [width, height] = [40, 20];
    const rgb = new Uint8Array(width * height * 3).fill(100);
    for (let y = 0; y < height; y += 1) for (let x = 0; x < 20; x += 1) rgb[(y * width + x) * 3 + 1] = 255;
    const rgba = hatchClipped(rgb, width, height, { x: 0.25, y: 0, width: 0.5, height: 1 }, 255, 2);
    let inside = 0;
    for (let y = 0; y < height; y += 1) {
      for (let x = 0; x < width; x += 1) {
        const alpha = rgba[(y * width + x) * 4 + 3] ?? 0;
        if (x >= 10 && x < 20) inside += alpha > 0 ? 1 : 0;
        else expect(alpha, `${x},${y}`).toBe(0);
      }
    }
    // One stripe of 2 in every 6 pixels.
    expect(inside / 200).toBeGreaterThan(0.25);
    expect(inside / 200).toBeLessThan(0.42);
  });
});

describe('labels in the strip', () => {
  it('say the stops where the level is out, else what is wrong', () => {
    const off = (fromSetupStops: number, code: Parameters<typeof fakeFlag>[0]) =>
      stripLabel(
        fakeReportFrame({ name: 'a', verdict: 'off', fromSetupStops, flags: [fakeFlag(code, 'fault', 'because')] }),
        1 / 3,
      );
    expect(off(-4.81, 'light-missing')).toBe('−4.8');
    expect(off(0.1, 'lower-body-dark')).toBe('legs');
    expect(off(0, 'cast-shifted')).toBe('cast');
  });

  it('do not run into one another, and a check never takes the place of a fault', () => {
    const label = (at: number, severe: boolean, above = true) => ({ at, stops: 0, above, text: 'word', severe });
    const kept = placeLabels([label(1, false), label(2, true), label(3, true), label(2, false, false)], 20);
    expect(kept.map(({ at, severe, above }) => [at, severe, above])).toEqual([
      [2, true, true],
      [2, false, false],
    ]);
  });
});
