import { describe, expect, it } from 'vitest';
import {
  discAgainstPointStops,
  discFallOffStops,
  rectangleAgainstPointStops,
  rectangleFallOffStops,
  rectangleIlluminancePerLuminance,
} from '../../src/photometry/area-light.js';
import {
  distanceFromGuideNumber,
  fNumberFromGuideNumber,
  guideNumberAt,
  guideNumberFromCandelaSeconds,
} from '../../src/photometry/guide-number.js';
import {
  distanceForStops,
  fallOffDownBodyStops,
  incidenceStops,
  inverseSquareStops,
} from '../../src/photometry/inverse-square.js';
import {
  additiveFromSourceRatio,
  highlightToShadowFromKeyOverFillStops,
  highlightToShadowStops,
  keyOverFillStops,
  sourceFromAdditiveRatio,
} from '../../src/photometry/lighting-ratio.js';
import { checkTable, rows } from '../support/check-table.js';

describe('inverse square and cosine', () => {
  checkTable(
    'inverseSquareStops',
    inverseSquareStops,
    rows<[number, number]>('IES 9.1.1, arithmetic', 6e-4, [
      [[1, Math.SQRT2], -1],
      [[1, 2], -2],
      [[2, 3], -1.17],
      [[1, 1.5], -1.17],
      [[4, 5], -0.644],
      [[1.5, 1.8], -0.526],
    ]),
  );
  checkTable(
    'incidenceStops',
    incidenceStops,
    rows<[number]>('cosine law', 6e-4, [
      [[15], -0.05],
      [[30], -0.208],
      [[45], -0.5],
      [[60], -1],
      [[75], -1.95],
    ]),
  );
  it('no light arrives from behind', () => expect(incidenceStops(90)).toBeNull());
  it('distanceForStops undoes it', () =>
    expect(inverseSquareStops(2, distanceForStops(2, -0.7))).toBeCloseTo(-0.7, 12));
  checkTable(
    'fallOffDownBodyStops',
    fallOffDownBodyStops,
    rows<[number, number, 'bare' | 'panel']>('geometry: cos^3 and cos^4', 6e-3, [
      [[1.5, 1.5, 'bare'], -1.5],
      [[2, 1.5, 'bare'], -0.97],
      [[3, 1.5, 'bare'], -0.48],
      [[6, 1.5, 'bare'], -0.13],
      [[1.5, 1.5, 'panel'], -2],
      [[2, 1.5, 'panel'], -1.29],
      [[4, 1.5, 'panel'], -0.38],
      [[1.5, 0.8, 'bare'], -0.54],
      [[3, 0.8, 'bare'], -0.15],
    ]),
  );
});

describe('area lights', () => {
  checkTable(
    'discAgainstPointStops',
    discAgainstPointStops,
    rows<[number, number]>('d^2 / (d^2 + R^2)', 6e-4, [
      [[1, 1], -1],
      [[1, 2], -0.322],
      [[1, 4], -0.0875],
      [[1, 5], -0.0566],
      [[1, 10], -0.0144],
      [[1, 20], -0.0036],
    ]),
  );
  checkTable(
    'discFallOffStops',
    discFallOffStops,
    rows<[number, number, number]>('arithmetic', 6e-4, [
      [[1, 0.5, 1], -0.678],
      [[1, 1, 2], -1.322],
      [[1, 2, 4], -1.766],
      [[1, 4, 8], -1.935],
    ]),
  );
  checkTable(
    'rectangleIlluminancePerLuminance',
    rectangleIlluminancePerLuminance,
    rows<[number, number, number]>('closed form checked by integration', 6e-7, [
      [[1, 1, 0.5], 1.74084],
      [[1, 1, 1], 0.752275],
      [[1, 1, 2], 0.230837],
      [[1, 1, 5], 0.039474],
      [[0.6, 0.9, 1], 0.453048],
      [[0.9, 1.2, 1.5], 0.412051],
    ]),
  );
  checkTable(
    'rectangleAgainstPointStops',
    rectangleAgainstPointStops,
    rows<[number, number, number]>('against a b / d^2', 6e-4, [
      [[1, 1, 0.5], -1.2],
      [[1, 1, 1], -0.411],
      [[1, 1, 2], -0.115],
      [[0.6, 0.9, 1], -0.253],
    ]),
  );
  it('closed form of the rectangle is the integral of cos cos / r^2 over its face (midpoint rule, 400 x 400)', () => {
    const [width, height, distance, cells] = [0.6, 0.9, 0.7, 400];
    let sum = 0;
    for (let i = 0; i < cells; i += 1)
      for (let j = 0; j < cells; j += 1) {
        const x = ((i + 0.5) / cells - 0.5) * width;
        const y = ((j + 0.5) / cells - 0.5) * height;
        sum += distance ** 2 / (x * x + y * y + distance ** 2) ** 2;
      }
    const integral = (sum * width * height) / cells ** 2;
    expect(rectangleIlluminancePerLuminance(width, height, distance) / integral).toBeCloseTo(1, 5);
  });
  it('a far rectangle falls off like a point', () => expect(rectangleFallOffStops(1, 1, 50, 100)).toBeCloseTo(-2, 3));
});

describe('lighting ratio', () => {
  it.each([
    // measured highlight:shadow, its stops, key over fill
    [3, 1.585, 1],
    [4, 2, 1.585],
    [5, 2.322, 2],
    [8, 3, 2.807],
    [9, 3.17, 3],
  ])('%d:1 additive shows %d stops and needs the key %d over the fill', (ratio, shown, needed) => {
    expect(highlightToShadowStops(ratio)).toBeCloseTo(shown, 3);
    expect(keyOverFillStops(ratio)).toBeCloseTo(needed, 3);
    expect(highlightToShadowFromKeyOverFillStops(keyOverFillStops(ratio))).toBeCloseTo(Math.log2(ratio), 12);
  });
  it('800 fc of key and 200 of fill: 4:1 source, 5:1 additive (encyclopaedia, both definitions)', () => {
    expect(additiveFromSourceRatio(800 / 200)).toBe(5);
    expect(sourceFromAdditiveRatio(5)).toBe(4);
  });
  it('2:1 additive is two equal lights; 1:1 needs no key', () => {
    expect(keyOverFillStops(2)).toBe(0);
    expect(() => keyOverFillStops(1)).toThrow(/additiveRatio/);
  });
});

describe('guide number', () => {
  it('32 m at 4 m is f/8, 45 at 5 m is f/9 (makers, dictionary)', () => {
    expect(fNumberFromGuideNumber(32, 4)).toBe(8);
    expect(fNumberFromGuideNumber(45, 5)).toBe(9);
    expect(distanceFromGuideNumber(32, 8)).toBe(4);
  });
  it.each([
    [1 / 2, 0.7071],
    [1 / 4, 0.5],
    [1 / 8, 0.3536],
    [1 / 64, 0.125],
    [1 / 128, 0.0884],
  ])('power %d has the guide number x %d', (powerShare, factor) =>
    expect(guideNumberAt(1, 100, powerShare)).toBeCloseTo(factor, 4),
  );
  it('four times the ISO doubles it', () => expect(guideNumberAt(20, 400, 1)).toBe(40));
  it('1000 cd s at C 250 is 20 m', () => expect(guideNumberFromCandelaSeconds(1000)).toBe(20));
});
