import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { placeLabels, stripLabel } from '../../src/render/html/strip-labels.js';
import { findClippedAreas } from '../../src/render/clipped-areas.js';
import { stippleAreas } from '../../src/render/overlay-stipple.js';
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

describe('clipped areas', () => {
  const [widthPx, heightPx] = [60, 40];
  const size = { widthPx, heightPx };
  /** Grey, with white where said. */
  const picture = (white: (x: number, y: number) => number | null) => {
    const rgb = new Uint8Array(widthPx * heightPx * 3).fill(100);
    for (let y = 0; y < heightPx; y += 1)
      for (let x = 0; x < widthPx; x += 1) rgb[(y * widthPx + x) * 3 + 1] = white(x, y) ?? 100;
    return rgb;
  };
  const inside = (x: number, y: number, left: number, top: number, side: number) =>
    x >= left && x < left + side && y >= top && y < top + side;
  const share = (px: number) => px / (widthPx * heightPx);

  it('finds every area from the least size up, not only the largest, and leaves specks out', () => {
    const rgb = picture((x, y) =>
      inside(x, y, 5, 5, 12) || inside(x, y, 40, 20, 6) || inside(x, y, 30, 3, 2) ? 255 : null,
    );
    const clippedShare = share(144 + 36 + 4);
    const { mask, areas } = findClippedAreas(rgb, size, { fromCode8: 255, clippedShare, leastAreaShare: share(10) });
    expect(areas).toBe(2);
    expect(mask.reduce((n, v) => n + v, 0)).toBe(144 + 36);
    expect(mask[25 * widthPx + 45]).toBe(1);
    expect(mask[3 * widthPx + 30]).toBe(0);
  });

  it('takes codes just under the top for clipped ones only as far as the frame itself had as many', () => {
    const rgb = picture((x, y) => (inside(x, y, 5, 5, 10) ? 253 : inside(x, y, 30, 10, 20) ? 252 : null));
    const from = { fromCode8: 255, leastAreaShare: share(10) };
    const of = (clippedShare: number) => findClippedAreas(rgb, size, { ...from, clippedShare }).areas;
    expect(of(share(100))).toBe(1);
    expect(of(share(500))).toBe(2);
    expect(of(0)).toBe(0);
  });

  it('are outlined in light and filled with dots, inside and nowhere else', () => {
    const { mask } = findClippedAreas(
      picture((x, y) => (inside(x, y, 10, 5, 30) ? 255 : null)),
      size,
      { fromCode8: 255, clippedShare: share(900), leastAreaShare: 0 },
    );
    const rgba = stippleAreas(mask, widthPx, heightPx, 1);
    const alpha = (x: number, y: number) => rgba[(y * widthPx + x) * 4 + 3] ?? 0;
    let drawn = 0;
    for (let y = 0; y < heightPx; y += 1) {
      for (let x = 0; x < widthPx; x += 1) {
        if (inside(x, y, 10, 5, 30)) drawn += alpha(x, y) > 0 ? 1 : 0;
        else expect(alpha(x, y), `${x},${y}`).toBe(0);
      }
    }
    for (let x = 10; x < 40; x += 1) expect(rgba[(5 * widthPx + x) * 4]).toBe(255);
    // Lines of two pixels around 30 × 30, and a dot with its ring in every cell of 8 × 8: the picture shows through.
    expect(drawn / 900).toBeGreaterThan(0.3);
    expect(drawn / 900).toBeLessThan(0.6);
  });

  it('are drawn over the preview, with corners and the share at the largest', async () => {
    const plain = fakeMeasurement({ person: false, highlightsShare: 0.5, largestHighlightAreaShare: 0.25 });
    const highlights = { ...plain.clipping.highlights, largestAreaBox: { x: 0, y: 0, width: 0.5, height: 0.5 } };
    const clipped = { ...plain, clipping: { ...plain.clipping, highlights } };
    expect(overlaySvg(plain, 400, 600)).not.toContain('<rect');
    expect(overlaySvg(clipped, 400, 600).split('<rect')).toHaveLength(2);
    const white = await grey(400, 600, 255);
    const drawn = await sharp(await renderOverlay(white, plain)).raw().toBuffer(); // prettier-ignore
    expect(drawn.some((code) => code < 60)).toBe(true);
    const dim = await renderOverlay(await grey(400, 600, 200), plain);
    expect((await sharp(dim).raw().toBuffer()).every((code) => code > 180)).toBe(true);
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
