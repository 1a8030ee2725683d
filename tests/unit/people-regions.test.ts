import { PLAIN_RESPONSE } from '../support/figures.js';
import { describe, expect, it } from 'vitest';
import { Person } from '../../src/contracts/people.js';
import { REGION_CODES } from '../../src/contracts/jobs.js';
import { measurePeople } from '../../worker/measure/people.js';
import { outlineOf } from '../../worker/measure/region-outline.js';
import { pixelsByOwner } from '../../worker/measure/region-owners.js';
import { boundsOf, regionLevelStops, trimmedMeanOver } from '../../worker/measure/region-pixels.js';
import { luminanceOf, paperDoll, type FigureColours } from '../support/figures.js';

type Rgb = [number, number, number];
const times = (colour: readonly number[], k: number) => colour.map((v) => v * k) as Rgb;

// Skins as linear sRGB, luminance of the 10th, 50th and 90th facial percentile or so; hue by eye.
const SKINS: Record<string, Rgb> = { fair: [0.5, 0.3, 0.22], tan: [0.25, 0.14, 0.09], deep: [0.06, 0.03, 0.018] };
const BLUE: Rgb = [0.03, 0.05, 0.12];
const WALL: Rgb = [0.2, 0.2, 0.2];
const level = (colour: readonly [number, number, number]) => Math.log2(luminanceOf(colour) / 0.18);

function figure(skin: Rgb, parts: Partial<FigureColours> = {}): FigureColours {
  return { skin, hips: BLUE, shins: times(skin, 0.5), torso: [0.3, 0.3, 0.32], wall: WALL, ...parts };
}

function measure(colours: FigureColours, options?: Parameters<typeof paperDoll>[1]) {
  const { image, found } = paperDoll(colours, options);
  return measurePeople(image, [found], PLAIN_RESPONSE);
}

describe('measurePeople on a figure of known light', () => {
  for (const [name, skin] of Object.entries(SKINS)) {
    it(`reads the levels of a ${name} figure with half the light on the bare shins`, () => {
      const { people, background, regions } = measure(figure(skin));
      const person = Person.parse(people[0]);
      expect(person.main).toBe(true);
      expect(person.face!.levelStops).toBeCloseTo(level(skin), 3);
      expect(person.face!.sideToSideStops).toBeCloseTo(0, 3);
      expect(person.lowerBody!.skinLevelStops).toBeCloseTo(level(skin) - 1, 3);
      expect(person.lowerBody!.clothLevelStops).toBeCloseTo(level(BLUE), 2);
      expect(person.basis).toBe('mixed');
      expect(person.faceToLowerBodyLightStops).toBeCloseTo(1, 3);
      expect(person.faceToLowerBodyLightUncertaintyStops).toBeGreaterThan(0.45);
      expect(person.torsoLevelStops).toBeCloseTo(level([0.3, 0.3, 0.32]), 2);
      expect(background.levelStops).toBeCloseTo(level(WALL), 3);
      expect(background.personToBackgroundStops).toBeCloseTo(level(skin) - level(WALL), 3);
      expect(person.lowerBody!.partsSeen).toEqual([
        'thigh-left',
        'thigh-right',
        'shin-left',
        'shin-right',
        'foot-left',
        'foot-right',
      ]);
      const codes = new Set(regions);
      for (const code of ['faceSkin', 'torso', 'thighCloth', 'shinSkin', 'foot'] as const) {
        expect(codes.has(REGION_CODES[code])).toBe(true);
      }
    });

    it(`calls trousers of a ${name} figure clothing, of its skin's very colour too`, () => {
      for (const cloth of [BLUE, times(skin, 0.6), [0.12, 0.12, 0.12] as Rgb]) {
        const person = measure(figure(skin, { hips: cloth, shins: cloth })).people[0]!;
        expect(person.basis).toBe('clothing');
        expect(person.lowerBody!.skinShare).toBe(0);
        expect(person.faceToLowerBodyLightStops).toBeNull();
        expect(person.faceToLowerBodyStops).toBeCloseTo(level(skin) - level(cloth), 2);
      }
    });
  }

  it('adds one stop to every level, and to no difference, when the light doubles', () => {
    const colours = figure(SKINS.tan!);
    const once = measure(colours).people[0]!;
    const twice = measure(colours, { light: 2 }).people[0]!;
    expect(twice.face!.levelStops! - once.face!.levelStops!).toBeCloseTo(1, 4);
    expect(twice.lowerBody!.levelStops! - once.lowerBody!.levelStops!).toBeCloseTo(1, 4);
    expect(twice.faceToLowerBodyStops).toBeCloseTo(once.faceToLowerBodyStops!, 4);
    expect(twice.profile.map((p) => p.levelStops! - 1)).toEqual(
      once.profile.map((p): unknown => expect.closeTo(p.levelStops!, 3)),
    );
  });

  it('has no lower body when the knees are outside the frame, and only thighs when the shins are', () => {
    expect(measure(figure(SKINS.fair!), { cutPx: 260 }).people[0]!.lowerBody).toBeNull();
    const thighs = measure(figure(SKINS.fair!), { cutPx: 310 }).people[0]!.lowerBody!;
    expect(thighs.partsSeen).toEqual(['thigh-left', 'thigh-right']);
  });

  it('orders people by size, and takes the central one of two alike for the main person', () => {
    const colours = figure(SKINS.tan!);
    const central = paperDoll(colours);
    const aside = paperDoll(colours, { shiftPx: 90 });
    aside.found.body!.mask.logits.forEach((m, i) => {
      if (central.found.body!.mask.logits[i]! > 0) aside.found.body!.mask.logits[i] = Math.min(m, -0.4);
    });
    for (const order of [
      [aside.found, central.found],
      [central.found, aside.found],
    ]) {
      const { people } = measurePeople(central.image, order, PLAIN_RESPONSE);
      expect(people).toHaveLength(2);
      const main = people.filter((p) => p.main);
      expect(main).toHaveLength(1);
      expect(main[0]!.box.x).toBeLessThan(0.4);
    }
  });

  it('takes the whole frame for background when nobody is there', () => {
    const { image } = paperDoll(figure(SKINS.fair!, { skin: WALL, hips: WALL, shins: WALL, torso: WALL }));
    const { people, background, skinRgb } = measurePeople(image, [], PLAIN_RESPONSE);
    expect(people).toEqual([]);
    expect(skinRgb).toBeNull();
    expect(background.share).toBe(1);
    expect(background.levelStops).toBeCloseTo(level(WALL), 4);
    expect(background.personToBackgroundStops).toBeNull();
  });
});

describe('region arithmetic', () => {
  it('trims by histogram as by sorting', () => {
    const plane = Float32Array.from({ length: 5000 }, (_, i) => 0.001 * 1.0015 ** i);
    const all = Int32Array.from({ length: 5000 }, (_, i) => i);
    const kept = [...plane].slice(150, 4850);
    const mean = kept.reduce((sum, v) => sum + v, 0) / kept.length;
    expect(Math.log2(trimmedMeanOver(plane, all, 0.03)! / mean)).toBeCloseTo(0, 2);
    expect(trimmedMeanOver(plane, all.subarray(0, 0), 0.03)).toBeNull();
    expect(trimmedMeanOver(new Float32Array(5000), all, 0.03)).toBe(0);
  });

  it('gives each owner their pixels in order, and the bounds of those, in pictures of odd size too', () => {
    for (const [widthPx, heightPx] of [
      [7, 5],
      [8, 5],
      [1, 9],
    ] as const)
      for (let round = 0; round < 20; round++) {
        const owners = Int16Array.from(
          { length: widthPx * heightPx },
          (_, i) => (((i * 31 + round * 17) % 13) % 4) - 1,
        );
        if (round === 0) owners.fill(-1, 3);
        const owned = pixelsByOwner(owners, 3);
        for (let person = 0; person < 3; person++) {
          const wanted = [...owners.keys()].filter((i) => owners[i] === person);
          expect([...owned[person]!]).toEqual(wanted);
          const xs = wanted.map((i) => i % widthPx);
          const ys = wanted.map((i) => Math.floor(i / widthPx));
          const none = { x0: widthPx, y0: heightPx, x1: -1, y1: -1 };
          const bounds = { x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys) };
          expect(boundsOf(owned[person]!, widthPx, heightPx)).toEqual(wanted.length === 0 ? none : bounds);
        }
      }
  });

  it('has no level without light or with too few pixels', () => {
    const { image } = paperDoll(figure(SKINS.fair!), { light: 0 });
    expect(
      regionLevelStops(
        image,
        Int32Array.from({ length: 100 }, (_, i) => i),
      ),
    ).toBeNull();
    expect(regionLevelStops(paperDoll(figure(SKINS.fair!)).image, Int32Array.of(1, 2, 3))).toBeNull();
  });

  it('outlines a rectangle by its corners, the larger of two parts, and a single pixel', () => {
    const pixels: number[] = [];
    for (let y = 10; y < 30; y++) for (let x = 20; x < 70; x++) pixels.push(y * 100 + x);
    pixels.push(90 * 100 + 5);
    const corners = outlineOf(Int32Array.from(pixels), 100, 100);
    const rounded = corners.map(([x, y]) => [Math.round(x * 100 - 0.5), Math.round(y * 100 - 0.5)]);
    expect(rounded).toHaveLength(4);
    for (const corner of [
      [20, 10],
      [69, 10],
      [69, 29],
      [20, 29],
    ]) {
      expect(rounded).toContainEqual(corner);
    }
    expect(outlineOf(Int32Array.of(505), 100, 100)).toHaveLength(1);
    expect(outlineOf(new Int32Array(0), 100, 100)).toEqual([]);
  });
});
