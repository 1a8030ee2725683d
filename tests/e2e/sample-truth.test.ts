import { readFile, readdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import path from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { ShootTruth, type FrameTruth } from '../../samples/make/truth.js';
import type { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { Flag, ReportFrame, ShootReport } from '../../src/contracts/report.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { measureFrame } from '../../worker/measure-frame.js';

/*
 * The report on the sample shoot, held to what the virtual camera knows of every frame (samples/truth.json).
 * Each check collects what is wrong frame by frame, so that a failure reads as a list.
 */
const SAMPLES = fileURLToPath(new URL('../../samples/', import.meta.url));
const readJson = async (name: string): Promise<unknown> =>
  JSON.parse(await readFile(path.join(SAMPLES, name), 'utf8')) as unknown;

let truth: ShootTruth;
let report: ShootReport;
const measurements = new Map<string, FrameMeasurement>();

beforeAll(async () => {
  truth = ShootTruth.parse(await readJson('truth.json'));
  const plan = ShootPlan.parse(await readJson('plan.json'));
  const options = MeasuringOptions.parse({});
  for (const { name } of truth.frames) {
    const { measurement } = await measureFrame(await readFile(path.join(SAMPLES, 'shoot', name)), options);
    measurements.set(name, measurement);
  }
  report = judgeShoot({
    shoot: { id: 'sample', name: "Makers' portrait day" },
    plan,
    frames: truth.frames.map(({ name }) => ({
      name,
      measurement: measurements.get(name) ?? null,
      failure: null,
      measurementHref: null,
    })),
  });
}, 300_000);

const reported = (name: string): ReportFrame => {
  const frame = report.frames.find((f) => f.name === name);
  if (frame === undefined) throw new Error(`the report has no frame ${name}`);
  return frame;
};
const measured = (name: string): FrameMeasurement => {
  const measurement = measurements.get(name);
  if (measurement === undefined) throw new Error(`no measurement of ${name}`);
  return measurement;
};
const told = (flags: readonly Flag[]): string =>
  flags.length === 0
    ? 'no flag'
    : flags.map((f) => `${f.code} (${f.severity}${f.stops === undefined ? '' : ` ${f.stops.toFixed(2)}`})`).join(', ');
const who = (t: FrameTruth): string =>
  `${t.name} [${t.setup}, ${t.figure}, ${t.framing}${t.incident === null ? '' : `, ${t.incident.kind}`}]`;
const faults = (flags: readonly Flag[]): Flag[] => flags.filter((flag) => flag.severity !== 'note');
/** One line for every frame for which `wrong` has something to say. */
const problems = (wrong: (t: FrameTruth, r: ReportFrame) => string | null): string[] =>
  truth.frames.flatMap((t) => {
    const said = wrong(t, reported(t.name));
    return said === null ? [] : [`${who(t)}: ${said}`];
  });

describe('the sample shoot', () => {
  it('is small, whole, and in the order in which it was made', async () => {
    const files = (await readdir(path.join(SAMPLES, 'shoot'))).filter((name) => name.endsWith('.jpg')).sort();
    expect(files).toEqual(truth.frames.map((t) => t.name));
    expect(files.length).toBeGreaterThanOrEqual(36);
    expect(new Set(truth.frames.map((t) => t.figure)).size).toBeGreaterThanOrEqual(4);
    expect(report.frames.map((r) => r.name)).toEqual(files);
  });

  it('is read with the settings, times and orientation that were written', () => {
    expect(
      problems((t) => {
        const { exposure, source } = measured(t.name);
        const wrong: string[] = [];
        if (exposure.fNumber !== t.settings.fNumber) wrong.push(`f/${exposure.fNumber} for f/${t.settings.fNumber}`);
        if (exposure.iso !== t.settings.iso) wrong.push(`ISO ${exposure.iso} for ${t.settings.iso}`);
        if (Math.abs((exposure.exposureTimeSeconds ?? 0) - t.settings.exposureTimeSeconds) > 1e-9)
          wrong.push(`shutter ${exposure.exposureTimeSeconds}`);
        if (exposure.capturedAt?.epochMs !== Date.parse(t.capturedAt))
          wrong.push(`captured ${exposure.capturedAt?.iso} for ${t.capturedAt}`);
        if (source.orientation !== t.storedOrientation) wrong.push(`orientation ${source.orientation}`);
        if (source.heightPx <= source.widthPx) wrong.push('not upright');
        return wrong.length === 0 ? null : wrong.join(', ');
      }),
    ).toEqual([]);
  });

  it('shows one person with a face in every frame that has light', () => {
    expect(
      problems((t) => {
        if (t.incident?.kind === 'light-did-not-fire') return null;
        const { people } = measured(t.name);
        if (people.length !== 1) return `${people.length} people found`;
        return (people[0]?.face?.levelStops ?? null) === null ? 'no face level' : null;
      }),
    ).toEqual([]);
  });
});

describe('the report on the sample shoot', () => {
  it('flags every incident on its frames, with the right code', () => {
    expect(
      problems((t, r) => {
        const codes = new Set(faults(r.flags).map((flag) => flag.code));
        const missing = t.mustFlag.filter((anyOf) => !anyOf.some((code) => codes.has(code)));
        return missing.length === 0
          ? null
          : `lacks ${missing.map((anyOf) => anyOf.join(' or ')).join('; ')}; has ${told(r.flags)}`;
      }),
    ).toEqual([]);
  });

  it('never calls an incident frame off for a cause that it does not have', () => {
    expect(
      problems((t, r) => {
        if (t.incident === null) return null;
        const wrong = faults(r.flags).filter((flag) => t.mustNotFlag.includes(flag.code));
        return wrong.length === 0 ? null : wrong.map((flag) => `${flag.code}: ${flag.because}`).join('; ');
      }),
    ).toEqual([]);
  });

  it('finds nothing wrong with clean frames', () => {
    expect(
      problems((t, r) => {
        if (t.incident !== null) return null;
        const wrong = faults(r.flags);
        if (wrong.length > 0) return wrong.map((flag) => `${flag.code} (${flag.severity}): ${flag.because}`).join('; ');
        return r.verdict === 'consistent' ? null : `verdict ${r.verdict} with ${told(r.flags)}`;
      }),
    ).toEqual([]);
  });

  it('states deviations in true stops of light', () => {
    expect(
      problems((t, r) => {
        if (t.toleranceStops === null) return null;
        const stated = r.deviation.fromSetupStops;
        if (stated === null) return 'no deviation stated';
        const error = stated - t.trueFromSetupStops;
        if (Math.abs(error) <= t.toleranceStops) return null;
        return `stated ${stated.toFixed(2)}, true ${t.trueFromSetupStops.toFixed(2)}: off by ${error.toFixed(2)}, allowed ${t.toleranceStops}`;
      }),
    ).toEqual([]);
  });

  it('parts deviations into what the settings did and what the light did', () => {
    expect(
      problems((t, r) => {
        if (t.incident?.kind !== 'iso-knocked') return null;
        const { ofWhichSettingsStops: settings, ofWhichLightStops: light } = r.deviation;
        const right = settings !== null && light !== null && Math.abs(settings - 1) < 0.05 && Math.abs(light) <= 0.2;
        return right
          ? null
          : `settings ${settings}, light ${light}; true ${t.ofWhichSettingsStops} and ${t.ofWhichLightStops}`;
      }),
    ).toEqual([]);
  });

  it('begins set-ups where the light was rearranged and nowhere else', () => {
    const starts = new Map(truth.setups.map((s) => [s.frames[0], s.beginsSetup]));
    const wrong: string[] = [];
    truth.frames.forEach((t, i) => {
      const before = truth.frames[i - 1];
      if (before === undefined) return;
      const begins = reported(t.name).setup !== reported(before.name).setup;
      const wanted = starts.get(t.name);
      if (wanted === 'must' && !begins)
        wrong.push(`${who(t)}: a set-up begins here, the report goes on with ${reported(t.name).setup}`);
      if (wanted === undefined && begins)
        wrong.push(`${who(t)}: no set-up begins here, the report begins ${reported(t.name).setup}`);
    });
    expect(wrong).toEqual([]);
  });

  it('says by how much the light on the sitters changed from set-up to set-up', () => {
    const wrong = truth.setups.flatMap((setup) => {
      const change = report.setups.find((s) => s.firstFrame === setup.frames[0])?.changeFromPrevious ?? null;
      const wanted = setup.levelFromPreviousStops;
      if (wanted === null || change === null) return [];
      if (change.levelStops !== null && Math.abs(change.levelStops - wanted) <= 0.35) return [];
      return [`${setup.id}: level changed by ${change.levelStops}, true ${wanted} (${change.because})`];
    });
    expect(wrong).toEqual([]);
  });

  it('reads one sitter under one light alike in every framing', () => {
    // A level read here is that of the lit, visible skin, the truth's that of the whole face mask with brows, jaw and
    // shaded rims, through a curve that the service does not know: the offset between the two belongs to the face and
    // its light. What it must not do is move with the framing.
    const offsets = new Map<string, { name: string; stops: number }[]>();
    for (const t of truth.frames) {
      const level = measured(t.name).people[0]?.face?.levelStops ?? null;
      if (t.face.levelStops === null || level === null || Math.abs(t.trueFromSetupStops) > 1.5) continue;
      const key = t.render;
      offsets.set(key, [...(offsets.get(key) ?? []), { name: who(t), stops: level - t.face.levelStops }]);
    }
    const wrong = [...offsets.values()].flatMap((list) => {
      const middle = [...list].sort((a, b) => a.stops - b.stops)[Math.floor(list.length / 2)]?.stops ?? 0;
      return list
        .filter((entry) => Math.abs(entry.stops - middle) > 0.25)
        .map(
          (entry) => `${entry.name}: face level ${entry.stops.toFixed(2)} over the truth, usually ${middle.toFixed(2)}`,
        );
    });
    expect(wrong).toEqual([]);
  });

  it('reads the brightness of the legs against the face', () => {
    expect(
      problems((t) => {
        const brightness = t.legs?.faceToLegsBrightnessStops ?? null;
        const person = measured(t.name).people[0];
        if (brightness === null || t.face.levelStops === null) return null;
        const legs = person?.faceToLowerBodyStops ?? null;
        const face = person?.face?.levelStops ?? null;
        if (legs === null || face === null) return 'no face-to-lower-body difference';
        // The face's own offset (see above) is taken out, so that this speaks of the legs.
        const error = legs - brightness - (face - t.face.levelStops);
        return Math.abs(error) <= 0.3 ? null : `legs off by ${error.toFixed(2)} stops`;
      }),
    ).toEqual([]);
  });
});
