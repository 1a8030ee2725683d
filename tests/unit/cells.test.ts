import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../samples/make/random.js';
import { invertMatrix, multiplyMatrix, multiplyVector, type Matrix3 } from '../../src/photometry/matrix3.js';
import { ADOBE_RGB_1998, SRGB, rgbToXyzMatrix } from '../../src/photometry/rgb-spaces.js';
import { linearToSrgbCode8Rounded, srgbCode8ToLinear } from '../../src/photometry/srgb.js';
import { ASSUMED_CAMERA_CURVE, STRAIGHT } from '../../src/photometry/tone-response.js';
import { WASM_BASE64 } from '../../worker/kernels/cells.wasm.js';
import { displayed } from '../../worker/measure/display.js';
import { CropSource } from '../../worker/people/crop.js';
import { detectionGain, gainTable } from '../../worker/people/gain.js';
import { paintMask } from '../../worker/people/mask.js';
import { colourOf } from '../../worker/measure/colour.js';
import { LightTally } from '../../worker/measure/light-tally.js';
import { backgroundOf } from '../../worker/measure/region-background.js';
import { meanRgbOver, regionLevelStops } from '../../worker/measure/region-pixels.js';
import { ownersOf } from '../../worker/measure/region-owners.js';
import { legPixelsOf, torsoPixelsOf } from '../../worker/measure/region-limbs.js';
import { cropPlainly, distancePlainly, paintedPlainly } from '../support/cells-reference.js';
import { paperDoll } from '../support/figures.js';
import { compileKernel, KERNELS } from '../support/compile-kernel.js';

describe('cells in WebAssembly', () => {
  it('are what their source compiles to', () => {
    expect(Buffer.from(compileKernel(KERNELS[1].source)).toString('base64')).toBe(WASM_BASE64);
  });

  // The loop has no tables: a code may be the neighbour where light lies on its edge, and few are.
  it.each([
    ['sRGB, a camera curve', SRGB, ASSUMED_CAMERA_CURVE],
    ['Adobe RGB, no curve', ADOBE_RGB_1998, STRAIGHT],
  ])('show light as a plain loop in doubles does: %s', (_, space, curve) => {
    const random = seededRandom('cells');
    // More cells than are handed over at once; from black over all levels to far beyond white, and a little under none.
    const rgb = Float32Array.from({ length: 3 * 9001 }, (__, i) =>
      i < 6 ? -0.01 : i < 30 ? 40 : 0.18 * 2 ** (3 * random.normal()),
    );
    const toXyz = rgbToXyzMatrix(space);
    const toSrgb = multiplyMatrix(invertMatrix(rgbToXyzMatrix(SRGB)), toXyz);
    const { linearY, rgb8 } = displayed(rgb, toXyz, curve);
    let off = 0;
    for (let i = 0; i < rgb.length; i += 3) {
      const light = [rgb[i]!, rgb[i + 1]!, rgb[i + 2]!] as const;
      const y = Math.max(0, toXyz[3] * light[0] + toXyz[4] * light[1] + toXyz[5] * light[2]);
      expect(Math.abs(linearY[i / 3]! - y)).toBeLessThanOrEqual(3e-7 * y);
      const file = light.map((value) => curve.toFile(Math.min(16, Math.max(0, value)))) as [number, number, number];
      multiplyVector(toSrgb, file).forEach((value, c) => {
        const apart = Math.abs(rgb8[i + c]! - linearToSrgbCode8Rounded(Math.min(1, Math.max(0, value))));
        expect(apart).toBeLessThanOrEqual(1);
        off += apart;
      });
    }
    expect(off).toBeLessThan(0.04 * rgb8.length);
  });

  const random = seededRandom('pictures');
  const picture = (widthPx: number, heightPx: number) =>
    Uint8Array.from({ length: widthPx * heightPx * 3 }, () => Math.floor(256 * random.uniform()));

  // In hundredths of a code: places are whole numbers of 2^-32, colours 32-bit floats.
  it.each([
    ['as it is', { centre: { x: 50, y: 40 }, sidePx: 32, turn: 0 }],
    ['smaller', { centre: { x: 50.3, y: 41.7 }, sidePx: 60, turn: 0 }],
    ['turned', { centre: { x: 61.2, y: 30.4 }, sidePx: 57.5, turn: 2.3 }],
    ['turned, over the edges', { centre: { x: 3, y: 78 }, sidePx: 63, turn: -0.7 }],
    ['beside the picture', { centre: { x: -400, y: 900 }, sidePx: 40, turn: 0.2 }],
  ])('crop a square as a plain loop does: %s', (_, region) => {
    const size = { widthPx: 97, heightPx: 83 };
    const rgb8 = picture(size.widthPx, size.heightPx);
    const cropped = new CropSource(rgb8, size.widthPx, size.heightPx).crop(region, 32, 0.5, -3);
    const plain = cropPlainly(rgb8, size, region, 32);
    expect(cropped).toHaveLength(plain.length);
    for (let i = 0; i < plain.length; i++) expect(Math.abs((cropped[i]! + 3) / 0.5 - plain[i]!)).toBeLessThan(0.01);
  });

  it.each([
    ['above', { x: 30, y: -100 }],
    ['below', { x: 30, y: 150 }],
    ['to the left', { x: -100, y: 20 }],
    ['to the right', { x: 190, y: 20 }],
    ['far above', { x: 30, y: -5000 }],
    ['beyond a corner', { x: 500, y: 500 }],
  ])('crop black where all of a square lies outside the picture: %s', (_, centre) => {
    const source = new CropSource(new Uint8Array(60 * 41 * 3).fill(255), 60, 41, 2);
    for (const sidePx of [20, 90]) {
      const cropped = source.crop({ centre, sidePx, turn: 0 }, 32, 0.5, -3);
      expect(cropped).toHaveLength(32 * 32 * 3);
      expect(cropped.every((value) => value === -3)).toBe(true);
    }
  });

  it('halve a picture, odd sizes too, before a strong reduction', () => {
    const [widthPx, heightPx] = [135, 131];
    const rgb8 = picture(widthPx, heightPx);
    const half = Uint8Array.from({ length: 67 * 65 * 3 }, (_, i) => {
      const [x, y, c] = [Math.floor(i / 3) % 67, Math.floor(i / 201), i % 3];
      const at = (dx: number, dy: number) => rgb8[((2 * y + dy) * widthPx + 2 * x + dx) * 3 + c]!;
      return Math.floor((at(0, 0) + at(1, 0) + at(0, 1) + at(1, 1) + 2) / 4);
    });
    const region = { centre: { x: 66, y: 64 }, sidePx: 128, turn: 0.3 };
    const cropped = new CropSource(rgb8, widthPx, heightPx).crop(region, 64, 1, 0);
    const plain = cropPlainly(
      half,
      { widthPx: 67, heightPx: 65 },
      { ...region, centre: { x: 33, y: 32 }, sidePx: 64 },
      64,
    );
    for (let i = 0; i < plain.length; i++) expect(Math.abs(cropped[i]! - plain[i]!)).toBeLessThan(0.01);
  });

  it('multiply light: a grey of 18 % becomes one of 36 %, white stays white', () => {
    // sRGB codes of 0.18 and 0.36 by IEC 61966-2-1: 117.65, 162.1 (that of code 118's light, 162.3).
    const doubled = gainTable(2, 1);
    expect([doubled[118], doubled[0], doubled[255]]).toEqual([162, 0, 255]);
    const ofFour = gainTable(2, 4);
    expect([ofFour[4 * 118], ofFour[0], ofFour[1020], ofFour.length]).toEqual([162, 0, 255, 1021]);
  });

  it('multiply light by what some rows tell as all pixels would', () => {
    const [widthPx, heightPx] = [1000, 800];
    const rgb8 = Uint8Array.from({ length: widthPx * heightPx * 3 }, (_, i) => {
      const [x, y] = [Math.floor(i / 3) % widthPx, Math.floor(i / 3 / widthPx)];
      return Math.min(255, Math.max(0, 60 + 40 * Math.sin(x / 90) * Math.cos(y / 70) + 6 * random.normal()));
    });
    const light = Float64Array.from({ length: widthPx * heightPx }, (_, i) => {
      const [r, g, b] = [0, 1, 2].map((c) => srgbCode8ToLinear(rgb8[3 * i + c]!));
      return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
    }).sort();
    const plain = 0.6 / light[Math.floor(0.95 * light.length)]!;
    expect(plain).toBeGreaterThan(3);
    expect(Math.abs(detectionGain(rgb8, widthPx) / plain - 1)).toBeLessThan(0.01);
  });

  // Light is multiplied before codes are averaged, in the plain loop; the quicker order differs where clipping or the straight
  // part of the scale (codes to 10) is averaged with other codes, and spares it a rounding.
  it.each([
    ['as it is', 1.5, 32, 0.02],
    ['as it is, dark', 40, 32, 0.02],
    ['halved', 1.5, 64, 1.01],
    ['halved twice', 1.5, 128, 1.3],
  ])('multiply light on the way to a crop as a plain loop does: %s, %d times', (_, gain, sidePx, within) => {
    const [widthPx, heightPx] = [150, 140];
    // Edges and noise; nothing that is clipped in one pixel and not in the next.
    const rgb8 = Uint8Array.from({ length: widthPx * heightPx * 3 }, (__, i) =>
      Math.min(200, Math.max(12, 90 + 70 * Math.sin(i / 11000) + 9 * random.normal())),
    );
    const multiplied = rgb8.map((code) => linearToSrgbCode8Rounded(Math.min(1, gain * srgbCode8ToLinear(code))));
    const region = { centre: { x: 75, y: 70 }, sidePx, turn: 0.3 };
    const quick = new CropSource(rgb8, widthPx, heightPx, gain).crop(region, 32, 1, 0).slice();
    const slow = new CropSource(multiplied, widthPx, heightPx).crop(region, 32, 1, 0);
    for (let i = 0; i < slow.length; i++) expect(Math.abs(quick[i]! - slow[i]!)).toBeLessThan(within);
  });

  it('paint a mask as a plain loop does, and nothing beyond it', () => {
    const maskLogits = Float32Array.from({ length: 256 * 256 }, () => 6 * random.normal());
    const region = { centre: { x: 70, y: 20 }, sidePx: 90, turn: 0.4 };
    const mask = paintMask({ region, maskLogits }, { widthPx: 120, heightPx: 80 });
    expect(mask).toMatchObject({ x: 10, y: 0, widthPx: 110, heightPx: 80 });
    for (let y = 0; y < 80; y++)
      for (let x = 0; x < 120; x++) {
        const plain = paintedPlainly(maskLogits, 256, region, x, y) ?? -100;
        const [column, row] = [x - mask.x, y - mask.y];
        if (column >= 0 && column < mask.widthPx && row < mask.heightPx)
          expect(Math.abs(mask.logits[row * mask.widthPx + column]! - plain)).toBeLessThan(1e-4);
        else expect(plain).toBe(-100);
      }
  });

  it.each([0, 0.4, -2.5])('paint no more of a mask than may be the person, turned by %d', (turn) => {
    // Likely in a part of the square, one in thirty elsewhere.
    const maskLogits = Float32Array.from({ length: 256 * 256 }, (_, i) => {
      const [u, v] = [i % 256, i >> 8];
      return u >= 100 && u < 130 && v >= 60 && v < 200 ? 5 : -Math.log(29);
    });
    const region = { centre: { x: 60, y: 40 }, sidePx: 90, turn };
    const mask = paintMask({ region, maskLogits }, { widthPx: 120, heightPx: 80 });
    let inside = 0;
    for (let y = 0; y < 80; y++)
      for (let x = 0; x < 120; x++) {
        const plain = paintedPlainly(maskLogits, 256, region, x, y) ?? -100;
        const [column, row] = [x - mask.x, y - mask.y];
        const isIn = column >= 0 && column < mask.widthPx && row >= 0 && row < mask.heightPx;
        if (isIn) expect(Math.abs(mask.logits[row * mask.widthPx + column]! - plain)).toBeLessThan(1e-4);
        else expect(plain).toBeLessThan(-Math.log(19));
        inside += Number(isIn);
      }
    // A rectangle of 10.5 x 49.2 pixels, turned.
    const [cos, sin] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
    expect(inside).toBeLessThan((10.5 * cos + 49.2 * sin + 4) * (10.5 * sin + 49.2 * cos + 4));
    const none = paintMask({ region, maskLogits: maskLogits.fill(-9) }, { widthPx: 120, heightPx: 80 });
    expect(none).toMatchObject({ widthPx: 0, heightPx: 0 });
  });

  it('part legs, trunk and arms as plain distances do', () => {
    const { image, found } = paperDoll({ skin: [0.3, 0.2, 0.1], hips: [0.1, 0.1, 0.1], shins: [0.2, 0.1, 0.1], torso: [0.3, 0.3, 0.3], wall: [0.2, 0.2, 0.2] }); // prettier-ignore
    const body = found.body!;
    // A hand before the left thigh.
    for (const [i, x, y] of [[13, 175, 160], [15, 150, 230], [17, 146, 246], [19, 144, 246]] as const) Object.assign(body.landmarks[i]!, { x, y }); // prettier-ignore
    const everywhere = Int32Array.from({ length: image.widthPx * image.heightPx }, (_, i) => i);
    const legs = legPixelsOf(image, body, everywhere)!;
    const trunk = new Set(torsoPixelsOf(image, body, everywhere));
    const part = new Map([...legs.pixels].map((i, k) => [i, legs.part[k]!]));
    const feet = new Set(legs.feet.pixels);
    const placeOf = new Map([...legs.pixels].map((i, k) => [i, k]));
    const at = (i: number) => body.landmarks[i]!;
    const bones = [[23, 25, 0], [24, 26, 1], [25, 27, 2], [26, 28, 3], [27, 31, 4], [28, 32, 5]] as const; // prettier-ignore
    const mean = (a: number, b: number) => ({ x: (at(a).x + at(b).x) / 2, y: (at(a).y + at(b).y) / 2 });
    const shoulderWidth = at(11).x - at(12).x;
    const tipOf = (wrist: number, little: number, fore: number) => {
      const fingers = mean(little, fore);
      return { x: at(wrist).x + 1.8 * (fingers.x - at(wrist).x), y: at(wrist).y + 1.8 * (fingers.y - at(wrist).y) };
    };
    const isArm = (p: { x: number; y: number }) =>
      [
        [13, 15, 17, 19],
        [14, 16, 18, 20],
      ].some(
        // prettier-ignore
        ([elbow, wrist, little, fore]) =>
          distancePlainly(at(elbow!), at(wrist!), p) < 0.17 * shoulderWidth ||
          distancePlainly(at(wrist!), tipOf(wrist!, little!, fore!), p) < 0.2 * shoulderWidth,
      );
    let hidden = 0;
    for (const i of everywhere) {
      const p = { x: (i % image.widthPx) + 0.5, y: Math.floor(i / image.widthPx) + 0.5 };
      const distances = bones.map(([from, to]) => distancePlainly(at(from), at(to), p));
      const nearest = Math.min(...distances);
      const bone = nearest < 0.6 * Math.hypot(2, 100) ? distances.indexOf(nearest) : -1;
      if (bone >= 0 && p.y > 200 && isArm(p)) hidden++;
      const wanted = p.y < 200 || isArm(p) ? -1 : bone;
      expect(part.get(i) ?? (feet.has(i) ? 4 : -1)).toBe(wanted === 5 ? 4 : wanted);
      const place = placeOf.get(i);
      if (place !== undefined) {
        const [from, to] = [at(bones[bone]![0]), at(bones[bone]![1])];
        const [dx, dy] = [to.x - from.x, to.y - from.y];
        const share = Math.max(0, Math.min(1, ((p.x - from.x) * dx + (p.y - from.y) * dy) / (dx * dx + dy * dy)));
        expect(Math.abs(legs.along[place]! - (bone < 2 ? share : 1 + share))).toBeLessThan(1e-6);
        expect(Math.abs(legs.aside[place]! - nearest)).toBeLessThan(1e-5);
      }
      // Shoulders at 92, hips at 200, half of the trunk's width 30, then 0.2 x 108 x 1.35.
      const down = (p.y - 92) / 108;
      const half = 30 + down * (0.2 * 108 * 1.35 - 30);
      expect(trunk.has(i)).toBe(down >= 0 && down <= 1 && Math.abs(p.x - 120) <= half && !isArm(p));
    }
    expect(hidden).toBeGreaterThan(100);
  });

  it('find the background that nobody is near as a plain search does, faces without a body included', () => {
    const { image, found } = paperDoll({ skin: [0.3, 0.2, 0.1], hips: [0.1, 0.1, 0.1], shins: [0.2, 0.1, 0.1], torso: [0.3, 0.3, 0.3], wall: [0.2, 0.2, 0.2] }); // prettier-ignore
    const { widthPx, heightPx } = image;
    const alone = { face: { ...found.face!, boxPx: { x: 205, y: 330, width: 10, height: 12 } }, body: null };
    const mask = found.body!.mask.logits;
    // A faint spot beside the figure: more than one in four, and one that is less.
    mask[300 * widthPx + 30] = -1;
    mask[200 * widthPx + 20] = -1.2;
    const people = [found, alone];
    const owners = ownersOf(people, widthPx, heightPx);
    const person = Int32Array.from(owners.keys()).filter((i) => owners[i] === 0);
    const rows = [...person].map((i) => Math.floor(i / widthPx));
    const [y0, y1] = [Math.min(...rows), Math.max(...rows)];
    const gap = Math.round(0.03 * (y1 - y0 + 1));
    const taken = (x: number, y: number) =>
      x >= 0 && x < widthPx && y >= 0 && y < heightPx &&
      (mask[y * widthPx + x]! > Math.log(1 / 3) || (y >= 324 && x >= Math.floor(210 - 16) && x <= Math.ceil(210 + 16))); // prettier-ignore
    const wanted: number[] = [];
    for (let y = y0; y <= y1; y++)
      for (let x = 0; x < widthPx; x++) {
        let near = false;
        for (let v = y - gap; v <= y + gap && !near; v++)
          for (let u = x - gap; u <= x + gap && !near; u++) near = taken(u, v);
        if (!near) wanted.push(y * widthPx + x);
      }
    expect(wanted.length).toBeGreaterThan(1000);
    // Light of its own in every cell, some of it clipped: levels and means tell which cells were read.
    for (let i = 0; i < image.linearY.length; i++) {
      image.linearY[i] = 0.2 * 2 ** (2 * random.normal());
      for (let c = 0; c < 3; c++) image.linearRgb[3 * i + c] = random.uniform();
      image.clippedShare[i] = i % 5 === 0 ? 0.2 : 0;
    }
    const all = Int32Array.from(wanted);
    const background = backgroundOf(image, people, owners, person);
    expect(background.pixels).toBe(wanted.length);
    expect(background.levelStops).toBeCloseTo(regionLevelStops(image, all)!, 12);
    meanRgbOver(image, all)!.forEach((mean, c) => expect(background.rgb![c]).toBeCloseTo(mean, 12));
    // Few cells are sorted: 29 by 41 around a thin figure before the wall.
    const thin = Int32Array.of(150 * widthPx + 30, 190 * widthPx + 30);
    const around = Int32Array.from({ length: 29 * 41 }, (_, n) => (150 + Math.floor(n / 29)) * widthPx + 16 + (n % 29));
    const few = backgroundOf(image, people, owners, thin);
    expect(few.pixels).toBe(around.length);
    expect(few.levelStops).toBeCloseTo(regionLevelStops(image, around)!, 12);
    const nobody = Int32Array.from(owners.keys()).filter((i) => owners[i] === -1);
    const without = backgroundOf(image, people, owners, new Int32Array(0));
    expect(without.pixels).toBe(nobody.length);
    expect(without.levelStops).toBeCloseTo(regionLevelStops(image, nobody)!, 12);
  });

  it('tally light as a plain loop in doubles does, beyond the bins too', () => {
    // None, less than the first bin begins at, 16 octaves of light, more than the last bin ends at; signs and both zeros.
    const plane = Float32Array.from({ length: 9000 }, (_, i) =>
      i < 900
        ? 0
        : i < 1000
          ? -1e-3
          : i < 1100
            ? 1e-7 * random.uniform()
            : i < 1200
              ? 300 + i
              : 0.18 * 2 ** (3 * random.normal()),
    );
    const pixels = Int32Array.from(plane.keys()).filter((i) => i % 3 > 0);
    const sums = new Map<number, { count: number; sum: number }>();
    for (const i of pixels) {
      const value = plane[i]!;
      const octave = value <= 0 ? -99 : Math.floor(Math.log2(value));
      const bin = Math.max(-20 * 64, Math.min(8 * 64 - 1, octave * 64 + Math.floor((value / 2 ** octave - 1) * 64)));
      const { count, sum } = sums.get(bin) ?? { count: 0, sum: 0 };
      sums.set(bin, { count: count + 1, sum: sum + value });
    }
    for (const cut of [0, 7, 2000, 2990]) {
      let seen = 0;
      let total = 0;
      for (const [, { count, sum }] of [...sums].sort(([a], [b]) => a - b)) {
        const kept = Math.max(0, Math.min(seen + count, pixels.length - cut) - Math.max(seen, cut));
        total += (sum * kept) / count;
        seen += count;
      }
      const wanted = total / (pixels.length - 2 * cut);
      expect(Math.abs(LightTally.over(plane, pixels).trimmedMean(cut) / wanted - 1)).toBeLessThan(1e-12);
      const halves = LightTally.over(plane, pixels.subarray(0, 2500)).add(
        LightTally.over(plane, pixels.subarray(2500)),
      );
      expect(Math.abs(halves.trimmedMean(cut) / wanted - 1)).toBeLessThan(1e-12);
    }
  });

  it('average sixth powers of the cells that count', () => {
    const { image } = paperDoll({ skin: [0.3, 0.2, 0.1], hips: [0.1, 0.1, 0.1], shins: [0.2, 0.1, 0.1], torso: [0.3, 0.3, 0.3], wall: [0.2, 0.2, 0.2] }); // prettier-ignore
    const regions = new Uint8Array(image.linearY.length);
    let count = 0;
    const sums = [0, 0, 0];
    for (let i = 0; i < regions.length; i++) {
      for (let c = 0; c < 3; c++) image.linearRgb[3 * i + c] = random.uniform();
      regions[i] = i % 7 === 0 ? 3 : 0;
      image.clippedShare[i] = i % 5 === 0 ? 0.2 : 0;
      if (i % 7 === 0 || i % 5 === 0) continue;
      count++;
      for (let c = 0; c < 3; c++) sums[c]! += image.linearRgb[3 * i + c]! ** 6;
    }
    const rgb = sums.map((sum) => (sum / count) ** (1 / 6)) as [number, number, number];
    const [x, y, z] = multiplyVector(image.rgbToXyz as Matrix3, rgb);
    const background = { levelStops: null, personToBackgroundStops: null, chromaticity: null, share: 1 };
    const { chromaticity, restsOn } = colourOf(image, regions, [], background).neutral;
    expect(chromaticity!.x).toBeCloseTo(x / (x + y + z), 9);
    expect(chromaticity!.y).toBeCloseTo(y / (x + y + z), 9);
    expect(restsOn).toContain(`${Math.round((100 * count) / regions.length)} %`);
  });
});
