import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  fNumberFromAv,
  avFromFNumber,
  ev100FromSettings,
  isoFromSv,
  secondsFromTv,
  svFromIso,
  tvFromSeconds,
} from '../../src/photometry/apex.js';
import { discFallOffStops, rectangleFallOffStops } from '../../src/photometry/area-light.js';
import { uv1960FromXy, xyFromUv1960 } from '../../src/photometry/chromaticity.js';
import { colourTemperatureFromUv1960, uv1960FromMired } from '../../src/photometry/colour-temperature.js';
import { distanceForStops, inverseSquareStops } from '../../src/photometry/inverse-square.js';
import { linearFromLStar, lStarFromLinear } from '../../src/photometry/lab.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../src/photometry/nominal-scales.js';
import { predictedChangeStops } from '../../src/photometry/predicted-change.js';
import { RGB_SPACES } from '../../src/photometry/rgb-spaces.js';
import {
  linearToSrgbCode8Rounded,
  linearToSrgbEncoded,
  srgbCode8ToLinear,
  srgbEncodedToLinear,
} from '../../src/photometry/srgb.js';
import {
  levelStopsFromLinear,
  linearFromLevelStops,
  ratioFromStops,
  stopsFromRatio,
  stopsFromRatioOrNull,
  thirdStopSteps,
} from '../../src/photometry/stops.js';

const light = fc.double({ min: 1e-6, max: 1e3, noNaN: true });
const stopsRange = fc.double({ min: -20, max: 20, noNaN: true });

describe('stops', () => {
  it('round trips, and doubling the light adds one stop', () => {
    fc.assert(
      fc.property(light, (y) => {
        expect(ratioFromStops(stopsFromRatio(y)) / y).toBeCloseTo(1, 12);
        expect((levelStopsFromLinear(2 * y) ?? 0) - (levelStopsFromLinear(y) ?? 0)).toBeCloseTo(1, 12);
        expect(linearFromLevelStops(levelStopsFromLinear(y) ?? 0) / y).toBeCloseTo(1, 12);
      }),
    );
  });
  it('mid-grey is level 0; no light has no level; what is no amount of light is refused', () => {
    expect(levelStopsFromLinear(0.18)).toBe(0);
    expect(stopsFromRatioOrNull(0)).toBeNull();
    expect(levelStopsFromLinear(0)).toBeNull();
    expect(levelStopsFromLinear(-0.01)).toBeNull();
    for (const bad of [-1, Number.NaN, Infinity]) {
      expect(() => stopsFromRatio(bad)).toThrow(/ratio/);
      expect(() => stopsFromRatioOrNull(bad)).toThrow(/ratio/);
    }
    expect(() => stopsFromRatio(0)).toThrow(/above 0/);
    expect(() => levelStopsFromLinear(Number.NaN)).toThrow(/linearY/);
  });
  it('third-stop steps are whole, odd-symmetric, and within a sixth of a stop', () => {
    fc.assert(
      fc.property(stopsRange, (stops) => {
        const steps = thirdStopSteps(stops);
        expect(Number.isInteger(steps)).toBe(true);
        expect(steps + thirdStopSteps(-stops)).toBe(0);
        expect(Math.abs(steps / 3 - stops)).toBeLessThanOrEqual(1 / 6 + 1e-12);
      }),
    );
    expect([1 / 3, 0.5, -0.5, 1, 0.1, -0.1].map(thirdStopSteps)).toEqual([1, 2, -2, 3, 0, 0]);
  });
});

describe('APEX', () => {
  const fNumber = fc.double({ min: 0.5, max: 128, noNaN: true });
  const time = fc.double({ min: 1e-5, max: 1e3, noNaN: true });
  const iso = fc.double({ min: 6, max: 1e6, noNaN: true });
  it('round trips', () => {
    fc.assert(
      fc.property(fNumber, time, iso, (n, t, s) => {
        expect(fNumberFromAv(avFromFNumber(n)) / n).toBeCloseTo(1, 12);
        expect(secondsFromTv(tvFromSeconds(t)) / t).toBeCloseTo(1, 12);
        expect(isoFromSv(svFromIso(s)) / s).toBeCloseTo(1, 12);
      }),
    );
  });
  it('twice the time costs one EV; so does twice the ISO', () => {
    fc.assert(
      fc.property(fNumber, time, iso, (n, t, s) => {
        const at = (exposureTimeSeconds: number, speed: number) =>
          ev100FromSettings({ fNumber: n, exposureTimeSeconds, iso: speed });
        expect(at(t, s) - at(2 * t, s)).toBeCloseTo(1, 9);
        expect(at(t, s) - at(t, 2 * s)).toBeCloseTo(1, 9);
      }),
    );
  });
  it('predicted change is additive along a chain and turns sign when reversed', () => {
    const apex = fc.record({ av: stopsRange, tv: stopsRange, sv: stopsRange });
    fc.assert(
      fc.property(apex, apex, apex, fc.double({ min: 0, max: 1, noNaN: true }), (a, b, c, w) => {
        const change = (from: typeof a, to: typeof a) => predictedChangeStops(from, to, w) ?? Number.NaN;
        expect(change(a, b) + change(b, c)).toBeCloseTo(change(a, c), 9);
        expect(change(a, b)).toBeCloseTo(-change(b, a), 9);
      }),
    );
  });
  it('snapping never moves a value by more than 0.4 stop, and never raises its order', () => {
    fc.assert(
      fc.property(fNumber, time, iso, (n, t, s) => {
        expect(Math.abs(avFromFNumber(exactFNumber(n).exact) - avFromFNumber(n))).toBeLessThan(0.4);
        expect(Math.abs(tvFromSeconds(exactExposureTimeSeconds(t).exact) - tvFromSeconds(t))).toBeLessThan(0.4);
        expect(Math.abs(svFromIso(exactIso(s).exact) - svFromIso(s))).toBeLessThan(0.4);
      }),
    );
  });
});

describe('encodings', () => {
  const encoded = fc.double({ min: -0.2, max: 1.5, noNaN: true });
  it('sRGB and every RGB space round trip and rise', () => {
    fc.assert(
      fc.property(encoded, fc.double({ min: 1e-6, max: 0.2, noNaN: true }), (v, step) => {
        expect(linearToSrgbEncoded(srgbEncodedToLinear(v))).toBeCloseTo(v, 6);
        for (const { toLinear, toEncoded } of RGB_SPACES) {
          expect(toEncoded(toLinear(v))).toBeCloseTo(v, 6);
          expect(toLinear(v + step)).toBeGreaterThan(toLinear(v));
        }
      }),
    );
  });
  it('every 8-bit code survives decoding and encoding', () => {
    for (let code = 0; code <= 255; code += 1) expect(linearToSrgbCode8Rounded(srgbCode8ToLinear(code))).toBe(code);
  });
  it('L* round trips', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 2, noNaN: true }), (y) => {
        expect(linearFromLStar(lStarFromLinear(y))).toBeCloseTo(y, 12);
      }),
    );
  });
});

describe('colour temperature', () => {
  it('mired and Duv round trip through uv wherever isotherms do not cross', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 590, noNaN: true }),
        fc.double({ min: -0.02, max: 0.02, noNaN: true }),
        (mired, duv) => {
          const uv = uv1960FromMired(mired, duv);
          const found = uv === null ? null : colourTemperatureFromUv1960(uv);
          expect(Math.abs((found?.mired ?? 0) - mired)).toBeLessThan(0.2);
          expect(found?.duv).toBeCloseTo(duv, 4);
          expect((found?.kelvin ?? 0) * (found?.mired ?? 0)).toBeCloseTo(1e6, 3);
        },
      ),
    );
  });
  it('xy and uv round trip', () => {
    const part = fc.double({ min: 0.05, max: 0.6, noNaN: true });
    fc.assert(
      fc.property(part, part, (x, y) => {
        const back = xyFromUv1960(uv1960FromXy({ x, y }));
        expect(back.x).toBeCloseTo(x, 9);
        expect(back.y).toBeCloseTo(y, 9);
      }),
    );
  });
});

describe('light and distance', () => {
  const distance = fc.double({ min: 0.2, max: 20, noNaN: true });
  const size = fc.double({ min: 0.05, max: 3, noNaN: true });
  it('going further always loses light, an area light never more than a point', () => {
    fc.assert(
      fc.property(distance, fc.double({ min: 1.01, max: 4, noNaN: true }), size, size, (d, factor, a, b) => {
        const point = inverseSquareStops(d, d * factor);
        for (const area of [discFallOffStops(a, d, d * factor), rectangleFallOffStops(a, b, d, d * factor)]) {
          expect(area).toBeLessThan(0);
          expect(area).toBeGreaterThanOrEqual(point - 1e-9);
        }
        expect(distanceForStops(d, point) / (d * factor)).toBeCloseTo(1, 9);
      }),
    );
  });
});
