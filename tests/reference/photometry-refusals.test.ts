import { describe, expect, it } from 'vitest';
import { StopledgerError } from '../../src/errors.js';
import * as apex from '../../src/photometry/apex.js';
import * as area from '../../src/photometry/area-light.js';
import { xyzFromXy } from '../../src/photometry/chromaticity.js';
import { kelvinFromMired, miredFromKelvin, uv1960FromMired } from '../../src/photometry/colour-temperature.js';
import { changeOnFaceStops, fallOffDownBody } from '../../src/photometry/fall-off-down-body.js';
import * as power from '../../src/photometry/flash-power.js';
import * as guide from '../../src/photometry/guide-number.js';
import { type HungLight, illuminanceOnBody } from '../../src/photometry/hung-light.js';
import * as square from '../../src/photometry/inverse-square.js';
import { lStarFromLinear, linearFromLStar } from '../../src/photometry/lab.js';
import { additiveFromSourceRatio, sourceFromAdditiveRatio } from '../../src/photometry/lighting-ratio.js';
import { invertMatrix } from '../../src/photometry/matrix3.js';
import * as nearest from '../../src/photometry/nearest-nominal.js';
import * as exact from '../../src/photometry/nominal-scales.js';
import { predictedChangeStops } from '../../src/photometry/predicted-change.js';
import * as robust from '../../src/photometry/robust-statistics.js';
import { linearToSrgbEncoded, srgbEncodedToLinear } from '../../src/photometry/srgb.js';
import { linearFromLevelStops, ratioFromStops, thirdStopSteps } from '../../src/photometry/stops.js';
import { knotToneCurve, logisticToneCurve } from '../../src/photometry/tone-response.js';

/* What cannot be: numbers outside the domain of their formula. Each refusal names the quantity, so that a plan's author
   or a caller knows which one it was. The contract of this project; no outside source. */

const hung = (of: Partial<HungLight>): HungLight =>
  ({ shape: { kind: 'disc', radius: 0.5 }, distance: 2, raised: 0.5, aimDrop: 0, ...of }); // prettier-ignore

/** Above 0: 0, negatives and what is no number are refused. */
const POSITIVE: [string, string, (bad: number) => unknown][] = [
  ['avFromFNumber', 'fNumber', apex.avFromFNumber],
  ['tvFromSeconds', 'exposureTimeSeconds', apex.tvFromSeconds],
  ['svFromIso', 'iso', apex.svFromIso],
  ['ev100FromLuminance', 'luminance', apex.ev100FromLuminance],
  ['ev100FromIlluminance', 'illuminance', apex.ev100FromIlluminance],
  ['ev100FromIlluminance', 'meterConstantC', (bad) => apex.ev100FromIlluminance(2.5, bad)],
  ['discIlluminancePerLuminance', 'radius', (bad) => area.discIlluminancePerLuminance(bad, 1)],
  ['discIlluminancePerLuminance', 'distance', (bad) => area.discIlluminancePerLuminance(1, bad)],
  ['rectangleIlluminancePerLuminance', 'width', (bad) => area.rectangleIlluminancePerLuminance(bad, 1, 1)],
  ['rectangleIlluminancePerLuminance', 'height', (bad) => area.rectangleIlluminancePerLuminance(1, bad, 1)],
  ['rectangleIlluminancePerLuminance', 'distance', (bad) => area.rectangleIlluminancePerLuminance(1, 1, bad)],
  ['xyzFromXy', 'y', (bad) => xyzFromXy({ x: 0.3, y: bad })],
  ['miredFromKelvin', 'kelvin', miredFromKelvin],
  ['kelvinFromMired', 'mired', kelvinFromMired],
  ['powerAfter', 'powerShare', (bad) => power.powerAfter(bad, 1)],
  ['guideNumberAtIso100', 'guideNumber', (bad) => power.guideNumberAtIso100(bad, 100)],
  ['guideNumberAtIso100', 'iso', (bad) => power.guideNumberAtIso100(32, bad)],
  ['powerForGuideNumber', 'guideNumber', (bad) => power.powerForGuideNumber(bad, 8, 4, 100)],
  ['powerForGuideNumber', 'fNumber', (bad) => power.powerForGuideNumber(32, bad, 4, 100)],
  ['powerForGuideNumber', 'distance', (bad) => power.powerForGuideNumber(32, 8, bad, 100)],
  ['powerForGuideNumber', 'iso', (bad) => power.powerForGuideNumber(32, 8, 4, bad)],
  ['fNumberFromGuideNumber', 'guideNumber', (bad) => guide.fNumberFromGuideNumber(bad, 4)],
  ['fNumberFromGuideNumber', 'distance', (bad) => guide.fNumberFromGuideNumber(32, bad)],
  ['fNumberFromGuideNumber', 'iso', (bad) => guide.fNumberFromGuideNumber(32, 4, bad)],
  ['fNumberFromGuideNumber', 'powerShare', (bad) => guide.fNumberFromGuideNumber(32, 4, 100, bad)],
  ['distanceFromGuideNumber', 'fNumber', (bad) => guide.distanceFromGuideNumber(32, bad)],
  ['guideNumberFromCandelaSeconds', 'candelaSeconds', guide.guideNumberFromCandelaSeconds],
  ['illuminanceOnBody', 'distance', (bad) => illuminanceOnBody(hung({ distance: bad }), 1)],
  ['illuminanceOnBody', 'radius', (bad) => illuminanceOnBody(hung({ shape: { kind: 'disc', radius: bad } }), 1)],
  ['illuminanceOnBody', 'width', (bad) => illuminanceOnBody(hung({ shape: { kind: 'rectangle', width: bad, height: 1 } }), 1)],
  ['illuminanceOnBody', 'height', (bad) => illuminanceOnBody(hung({ shape: { kind: 'rectangle', width: 1, height: bad } }), 1)],
  ['inverseSquareStops', 'fromDistance', (bad) => square.inverseSquareStops(bad, 1)],
  ['inverseSquareStops', 'toDistance', (bad) => square.inverseSquareStops(1, bad)],
  ['distanceForStops', 'fromDistance', (bad) => square.distanceForStops(bad, 1)],
  ['fallOffDownBodyStops', 'lightDistance', (bad) => square.fallOffDownBodyStops(bad, 1, 'bare')],
  ['nearestFNumber', 'fNumber', nearest.nearestFNumber],
  ['nearestExposureTimeSeconds', 'exposureTimeSeconds', nearest.nearestExposureTimeSeconds],
  ['nearestIso', 'iso', nearest.nearestIso],
  ['exactFNumber', 'fNumber', exact.exactFNumber],
  ['exactExposureTimeSeconds', 'exposureTimeSeconds', exact.exactExposureTimeSeconds],
  ['exactIso', 'iso', exact.exactIso],
]; // prettier-ignore

/** Any finite number. */
const FINITE: [string, string, (bad: number) => unknown][] = [
  ['fNumberFromAv', 'av', apex.fNumberFromAv],
  ['secondsFromTv', 'tv', apex.secondsFromTv],
  ['isoFromSv', 'sv', apex.isoFromSv],
  ['luminanceFromEv100', 'ev100', apex.luminanceFromEv100],
  ['illuminanceFromEv100', 'ev100', apex.illuminanceFromEv100],
  ['fNumberForEv100', 'ev100', (bad) => apex.fNumberForEv100(bad, 1 / 60, 100)],
  ['illuminanceOnBody', 'raised', (bad) => illuminanceOnBody(hung({ raised: bad }), 1)],
  ['illuminanceOnBody', 'drop', (bad) => illuminanceOnBody(hung({}), bad)],
  ['illuminanceOnBody', 'aimDrop', (bad) => illuminanceOnBody(hung({ aimDrop: bad }), 1)],
  ['linearFromLStar', 'lStar', linearFromLStar],
  ['lStarFromLinear', 'ratio', lStarFromLinear],
  ['srgbEncodedToLinear', 'encoded', srgbEncodedToLinear],
  ['linearToSrgbEncoded', 'linear', linearToSrgbEncoded],
  ['ratioFromStops', 'stops', ratioFromStops],
  ['linearFromLevelStops', 'levelStops', linearFromLevelStops],
  ['thirdStopSteps', 'stops', thirdStopSteps],
];

const refuses = (what: RegExp): unknown =>
  expect.objectContaining({ code: 'quantity-out-of-range', message: expect.stringMatching(what) as unknown });

const thrownBy = (work: () => unknown): unknown => {
  try {
    return work();
  } catch (error) {
    expect(error).toBeInstanceOf(StopledgerError);
    return error;
  }
};

describe('a quantity that has to be above 0', () => {
  it.each(POSITIVE)('%s refuses %s', (_name, quantity, call) => {
    for (const bad of [0, -1, NaN, Infinity]) {
      expect(thrownBy(() => call(bad))).toEqual(refuses(new RegExp(`^Expected a number above 0 for ${quantity} `)));
    }
  });
});

describe('a quantity that has to be a number', () => {
  it.each(FINITE)('%s refuses %s', (_name, quantity, call) => {
    for (const bad of [NaN, Infinity, -Infinity]) {
      expect(thrownBy(() => call(bad))).toEqual(refuses(new RegExp(`^Expected a finite number for ${quantity} `)));
    }
    expect(() => call(0.5)).not.toThrow();
  });
});

describe('ratios, shares and what else has a domain', () => {
  it('lighting ratios', () => {
    expect(thrownBy(() => additiveFromSourceRatio(-0.1))).toEqual(refuses(/for sourceRatio /));
    expect(thrownBy(() => sourceFromAdditiveRatio(0.9))).toEqual(refuses(/for additiveRatio - 1 /));
    expect(additiveFromSourceRatio(0)).toBe(1);
    expect(sourceFromAdditiveRatio(1)).toBe(0);
  });

  it('shares', () => {
    for (const bad of [-0.01, 1.01, NaN]) {
      expect(thrownBy(() => robust.quantile([1, 2], bad))).toEqual(refuses(/0 to 1 for share/));
      const settings = { av: 4, tv: 6, sv: 5 };
      expect(thrownBy(() => predictedChangeStops(settings, settings, bad))).toEqual(refuses(/0 to 1 for shutterWeight/));
    }
    for (const bad of [-0.01, 0.5, NaN]) {
      expect(thrownBy(() => robust.trimmedMean([1, 2], bad))).toEqual(refuses(/0 to below 0\.5 for trimShare/));
    }
    expect([robust.quantile([1, 2], 0), robust.quantile([1, 2], 1), robust.trimmedMean([1, 2], 0)]).toEqual([1, 2, 1.5]);
    expect(thrownBy(() => robust.weightedMedian([1, 2, 3], [1, -1, 1]))).toEqual(refuses(/weights of 0 or more/));
    expect(thrownBy(() => robust.weightedMedian([1, NaN, 3], [1, 1, 1]))).toEqual(refuses(/Expected numbers/));
  }); // prettier-ignore

  it('a setting that a file does not state: no prediction, but for the shutter of a flash', () => {
    const whole = { av: 4, tv: 6, sv: 5 };
    for (const missing of ['av', 'sv', 'tv'] as const) {
      const without = { ...whole, [missing]: null };
      for (const [from, to] of [[whole, without], [without, whole]] as const) {
        expect(predictedChangeStops(from, to, 1)).toBeNull();
        expect(predictedChangeStops(from, to, 0)).toBe(missing === 'tv' ? 0 : null);
      }
    }
  }); // prettier-ignore

  it('no values: no middle, no spread, no scores', () => {
    expect(robust.medianAbsoluteDeviation([])).toBeNull();
    expect(robust.robustSigma([])).toBeNull();
    expect(robust.modifiedZScores([])).toEqual([]);
  });

  it('a matrix without an inverse', () => {
    expect(thrownBy(() => invertMatrix([1, 2, 3, 2, 4, 6, 0, 0, 1]))).toEqual(refuses(/its determinant is 0$/));
    expect(thrownBy(() => invertMatrix([NaN, 0, 0, 0, 1, 0, 0, 0, 1]))).toEqual(refuses(/its determinant is NaN$/));
  });

  it('colour temperatures outside the table of isotherms', () => {
    expect(uv1960FromMired(-1, 0)).toBeNull();
    expect(uv1960FromMired(601, 0)).toBeNull();
    for (const edge of [0, 600]) expect(uv1960FromMired(edge, 0)).not.toBeNull();
  });

  it.each([
    [{ shadowSlope: 0, shoulder: 1, ceilingLinear: 1.1 }, 'received 0, 1, 1.1 and 0'],
    [{ shadowSlope: 1.6, shoulder: 0, ceilingLinear: 1.1 }, 'received 1.6, 0, 1.1 and 0'],
    [{ shadowSlope: 1.6, shoulder: 1, ceilingLinear: 1 }, 'received 1.6, 1, 1 and 0'],
    [{ shadowSlope: 1.6, shoulder: 1, ceilingLinear: 1.1, veilLinear: -0.001 }, 'received 1.6, 1, 1.1 and -0.001'],
    [{ shadowSlope: NaN, shoulder: 1, ceilingLinear: 1.1 }, 'received NaN, 1, 1.1 and 0'],
  ])('a tone curve of %j', (parameters, told) => {
    expect(() => logisticToneCurve(parameters)).toThrow(new RangeError(`Expected shadowSlope > 0, shoulder > 0, ceilingLinear > 1 and veilLinear >= 0 but ${told}`)); // prettier-ignore
  });

  it.each([
    [[0.18], [0.18]],
    [[0.1, 0.2], [0.1]],
    [
      [0.2, 0.1],
      [0.1, 0.2],
    ],
    [
      [0.1, 0.2],
      [0.2, 0.2],
    ],
    [
      [0, 0.2],
      [0.1, 0.2],
    ],
    [
      [0.1, Infinity],
      [0.1, 0.2],
    ],
  ])('a tone curve through %j and %j', (file, scene) => {
    expect(() => knotToneCurve(file, scene)).toThrow(new RangeError(`Expected two ascending lists of positive knots of one length (2 or more) but received ${file.length} and ${scene.length}`)); // prettier-ignore
  });
});

describe('a light that cannot be', () => {
  it('that shines away from the face', () => {
    // Raised 3 m at 1 m, aimed at a place far above itself: its face looks up and away.
    const away = hung({ shape: { kind: 'disc', radius: 0.05 }, distance: 1, raised: 3, aimDrop: -12 });
    for (const call of [() => fallOffDownBody(away, [1]), () => changeOnFaceStops(hung({}), away)]) {
      expect(thrownBy(call)).toEqual(refuses(/points away from it: distance 1, raised 3, aimed -12 below the face$/));
    }
    const level = hung({ shape: { kind: 'disc', radius: 0.5 }, distance: 1, raised: 3, aimDrop: 'level' });
    expect(fallOffDownBody(level, [0])[0]?.fromFaceStops).toBe(0);
  });

  it('whose tilted edge would reach the body', () => {
    const tilted = hung({ shape: { kind: 'disc', radius: 1.2 }, distance: 1, raised: 2.5 });
    expect(thrownBy(() => illuminanceOnBody(tilted, 0))).toEqual(
      refuses(/its edge would reach it: distance 1, half its height 1\.2, raised 2\.5$/),
    );
    const square2 = hung({ shape: { kind: 'rectangle', width: 0.1, height: 2.4 }, distance: 1, raised: 2.5 });
    expect(thrownBy(() => illuminanceOnBody(square2, 0))).toEqual(refuses(/half its height 1\.2/));
    // As wide, but low: nothing of it comes nearer than its middle by more than a little.
    const low = hung({ shape: { kind: 'rectangle', width: 2.4, height: 0.1 }, distance: 1, raised: 2.5 });
    expect(illuminanceOnBody(low, 0)).toBeGreaterThan(0);
  });
});
