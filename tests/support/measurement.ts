/** Builds whole, schema-valid frame measurements from the few numbers that a test is about. */
import type { CapturedAt, ExposureData, FlashState } from '../../src/contracts/exposure.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import type { Appearance, Face, LowerBody, Person } from '../../src/contracts/people.js';
import type { ToneResponse } from '../../src/contracts/tone.js';
import { avFromFNumber, svFromIso, tvFromSeconds } from '../../src/photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../src/photometry/nominal-scales.js';

export interface FakeFrame {
  faceLevelStops?: number | null;
  bodyLevelStops?: number | null;
  torsoLevelStops?: number | null;
  /** No person at all when false. */
  person?: boolean;
  frameLevelStops?: number;
  backgroundLevelStops?: number | null;
  backgroundShare?: number;
  sideToSideStops?: number | null;
  faceHeightShare?: number;
  fNumber?: number | null;
  exposureTimeSeconds?: number | null;
  iso?: number | null;
  flashFired?: boolean | null;
  exposureProgram?: string | null;
  capturedAtMs?: number | null;
  camera?: string | null;
  focalLengthMm?: number | null;
  wallMired?: number | null;
  wallDuv?: number | null;
  skinMired?: number | null;
  skinDuv?: number | null;
  appearance?: Partial<Appearance>;
  lowerBody?: {
    levelStops: number;
    basis: 'skin' | 'mixed' | 'clothing';
    faceToLowerBodyLightStops?: number | null;
    uncertaintyStops?: number;
  } | null;
  /** Levels from head to feet at even heights. */
  profileLevelsStops?: readonly number[];
  facesClippedShare?: number;
  highlightsShare?: number;
  largestHighlightAreaShare?: number;
  blacksShare?: number;
  confidence?: number;
  encoding?: 'rendered' | 'scene';
  toneResponse?: Partial<ToneResponse>;
  measuringVersion?: string;
}

const square = (x: number, y: number, width: number, height: number): [number, number][] => [
  [x, y],
  [x + width, y],
  [x + width, y + height],
  [x, y + height],
];

/** A value given, null included, else the usual one. */
function given<T>(value: T | undefined, usual: T): T {
  return value === undefined ? usual : value;
}

export function fakeMeasurement(fake: FakeFrame = {}): FrameMeasurement {
  const faceLevelStops = given(fake.faceLevelStops, 0.5);
  const background = given(fake.backgroundLevelStops, -1);
  const person = fake.person === false ? null : fakePerson(fake, faceLevelStops);
  const subject = person === null ? null : (faceLevelStops ?? person.bodyLevelStops);
  const highlights = fake.highlightsShare ?? 0;
  const blacks = fake.blacksShare ?? 0;
  return {
    schemaVersion: 1,
    measuringVersion: fake.measuringVersion ?? 'test-1',
    encoding: fake.encoding ?? 'rendered',
    source: {
      format: 'jpeg',
      bytes: 1000,
      sha256: '0'.repeat(64),
      widthPx: 4000,
      heightPx: 6000,
      orientation: 1,
      bitDepth: 8,
      channels: 3,
      profile: { description: 'sRGB', kind: 'matrix', handling: 'profile-curves', because: 'made for a test' },
    },
    exposure: fakeExposure(fake),
    toneResponse: {
      source: 'assumed',
      slopeAtMid: 1.4,
      uncertaintyStops: 0.1,
      because: 'made for a test',
      ...fake.toneResponse,
    },
    tone: fakeTone(fake.frameLevelStops ?? (background ?? 0) - 0.2),
    clipping: {
      highlights: {
        ...channels(highlights),
        fromCode8: 254,
        largestAreaShare: fake.largestHighlightAreaShare ?? 0,
        largestAreaBox: null,
        inFacesShare: faceLevelStops === null ? null : (fake.facesClippedShare ?? 0),
      },
      blacks: { ...channels(blacks), toCode8: 1, largestAreaShare: blacks / 2, largestAreaBox: null },
    },
    people: person === null ? [] : [person],
    background: {
      levelStops: background,
      personToBackgroundStops: subject === null || background === null ? null : subject - background,
      chromaticity: { x: 0.33, y: 0.34 },
      share: fake.backgroundShare ?? 0.5,
    },
    colour: {
      neutral: { chromaticity: { x: 0.33, y: 0.34 }, kelvin: 5600, mired: 1e6 / 5600, duv: 0, restsOn: 'test' },
      skinChromaticity: { x: 0.38, y: 0.36 },
      skinMired: given(fake.skinMired, 240),
      skinDuv: given(fake.skinDuv, 0),
      backgroundMired: given(fake.wallMired, 180),
      backgroundDuv: given(fake.wallDuv, 0),
    },
    ownRendering: null,
    notes: [],
    timing: { total: 1 },
  };
}

function channels(share: number) {
  return { anyChannelShare: share, redShare: share, greenShare: share, blueShare: share, allChannelsShare: share };
}

function fakePerson(fake: FakeFrame, faceLevelStops: number | null): Person {
  const side = given(fake.sideToSideStops, 1);
  const torso = given(fake.torsoLevelStops, -0.5);
  const face: Face | null =
    faceLevelStops === null
      ? null
      : {
          box: { x: 0.4, y: 0.1, width: 0.15, height: fake.faceHeightShare ?? 0.12 },
          outline: square(0.4, 0.1, 0.15, 0.12),
          score: 0.95,
          levelStops: faceLevelStops,
          levelIsAtLeast: false,
          brightSideLevelStops: side === null ? null : faceLevelStops + side / 2,
          darkSideLevelStops: side === null ? null : faceLevelStops - side / 2,
          sideToSideStops: side,
          brightSide: 'image-left',
          clippedShare: fake.facesClippedShare ?? 0,
          lostShare: fake.facesClippedShare ?? 0,
          skinChromaticity: { x: 0.38, y: 0.36 },
          usedPixels: 5000,
        };
  const legs = fake.lowerBody ?? null;
  const lowerBody: LowerBody | null =
    legs === null
      ? null
      : {
          outline: square(0.4, 0.6, 0.2, 0.35),
          levelStops: legs.levelStops,
          skinLevelStops: legs.basis === 'clothing' ? null : legs.levelStops,
          clothLevelStops: legs.basis === 'skin' ? null : legs.levelStops,
          skinShare: legs.basis === 'skin' ? 0.9 : legs.basis === 'mixed' ? 0.4 : 0,
          clippedShare: 0,
          partsSeen: ['thigh-left', 'shin-left'],
          parts: [],
          usedPixels: 9000,
        };
  const light = legs?.faceToLowerBodyLightStops ?? null;
  return {
    main: true,
    box: { x: 0.3, y: 0.1, width: 0.4, height: 0.85 },
    face,
    lowerBody,
    torsoLevelStops: torso,
    bodyLevelStops: given(fake.bodyLevelStops, faceLevelStops === null ? null : faceLevelStops - 0.5),
    faceToLowerBodyStops: legs === null || faceLevelStops === null ? null : faceLevelStops - legs.levelStops,
    faceToLowerBodyLightStops: light,
    faceToLowerBodyLightUncertaintyStops: light === null ? null : (legs?.uncertaintyStops ?? 0.3),
    basis: legs?.basis ?? null,
    confidence: fake.confidence ?? 0.9,
    limits: [],
    profile: (fake.profileLevelsStops ?? []).map((levelStops, i, all) => ({
      heightShare: (i + 0.5) / all.length,
      levelStops,
    })),
    appearance: {
      torsoLogRg: 0,
      torsoLogBg: 0,
      torsoMinusFaceStops: torso === null || faceLevelStops === null ? null : torso - faceLevelStops,
      skinLogRg: 0.6,
      skinLogBg: -0.5,
      ...fake.appearance,
    },
  };
}

function fakeTone(levelStops: number): FrameMeasurement['tone'] {
  return {
    stopsHistogram: { firstBinStops: -9, binWidthStops: 1 / 6, counts: zeros(72), below: 0, above: 0 },
    code8Histograms: { red: zeros(256), green: zeros(256), blue: zeros(256), luminance: zeros(256) },
    percentilesStops: {
      p1: levelStops - 4,
      p5: levelStops - 3,
      p25: levelStops - 1,
      p50: levelStops,
      p75: levelStops + 0.5,
      p95: levelStops + 1,
      p99: levelStops + 1.5,
    },
    logAverageLevelStops: levelStops,
    meanLevelStops: levelStops + 0.3,
    wholeStops: [],
  };
}

const ZEROS = new Map<number, number[]>();
function zeros(length: number): number[] {
  const made = ZEROS.get(length) ?? Array.from({ length }, () => 0);
  ZEROS.set(length, made);
  return made;
}

function fakeExposure(fake: FakeFrame): ExposureData {
  const fNumber = given(fake.fNumber, 8);
  const exposureTimeSeconds = given(fake.exposureTimeSeconds, 1 / 125);
  const iso = given(fake.iso, 100);
  const exact = {
    fNumber: fNumber === null ? null : exactFNumber(fNumber).exact,
    exposureTimeSeconds: exposureTimeSeconds === null ? null : exactExposureTimeSeconds(exposureTimeSeconds).exact,
    iso: iso === null ? null : exactIso(iso).exact,
  };
  const av = exact.fNumber === null ? null : avFromFNumber(exact.fNumber);
  const tv = exact.exposureTimeSeconds === null ? null : tvFromSeconds(exact.exposureTimeSeconds);
  const sv = exact.iso === null ? null : svFromIso(exact.iso);
  return {
    fNumber,
    exposureTimeSeconds,
    iso,
    exact,
    av,
    tv,
    sv,
    ev100: av === null || tv === null || sv === null ? null : av + tv - sv + 5,
    exposureBiasStops: null,
    flash: fakeFlash(fake.flashFired),
    exposureProgram: given(fake.exposureProgram, 'manual'),
    exposureMode: null,
    meteringMode: null,
    whiteBalance: 'manual',
    lightSource: null,
    capturedAt: fakeCapturedAt(given(fake.capturedAtMs, 1_780_000_000_000)),
    cameraMake: fake.camera === null ? null : 'Maker',
    cameraModel: given(fake.camera, 'Hall'),
    cameraSerial: null,
    lensModel: null,
    renderingSettings: null,
    focalLengthMm: given(fake.focalLengthMm, 85),
    focalLength35mmMm: null,
    software: null,
    missing: [],
  };
}

function fakeFlash(fired: boolean | null | undefined): FlashState | null {
  if (fired === null || fired === undefined) return null;
  return {
    code: fired ? 0x09 : 0x10,
    fired,
    returnLight: 'not-sensed',
    mode: fired ? 'forced-on' : 'forced-off',
    unitPresent: true,
    redEyeReduction: false,
  };
}

function fakeCapturedAt(epochMs: number | null): CapturedAt | null {
  if (epochMs === null) return null;
  return { iso: new Date(epochMs).toISOString(), epochMs, offsetKnown: true, subSecondsKnown: true };
}
