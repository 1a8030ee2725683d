import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { bracketFrames, renderFrame, plainFrame } from '../../samples/make/virtual-camera.js';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { CAMERA_CURVES } from '../../samples/make/camera-curves.js';
import { CalibrationFile } from '../../src/contracts/calibration.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { knotToneCurve } from '../../src/photometry/tone-response.js';
import { readCalibrations } from '../../src/store/calibration-file.js';
import { measureFrame } from '../../worker/measure-frame.js';
import { runCli } from '../support/cli.js';
import { temporaryFolder } from '../support/temporary-folder.js';

describe.skipIf(!STUDIO_PRESENT)('calibrate, through a hard curve (skipped where ../shared is absent)', () => {
  it('fits, prints, draws and keeps a bracket; later frames are read through it', async () => {
    const folder = temporaryFolder();
    const bracket = join(folder, 'bracket');
    await mkdir(bracket);
    const frames = await bracketFrames('hard-toe', [-2, -1, 0, 1]);
    for (const { stops, jpeg } of frames) await writeFile(join(bracket, `B_${stops}.jpg`), jpeg);
    const into = join(folder, 'kept.json');
    const { status, stdout } = await runCli(['calibrate', bracket, '--into', into, '--out', folder]);
    expect(stdout).toContain('one stop of light reads as');
    expect(status).toBe(0);
    expect(existsSync(join(folder, /plot in (.*\.svg)/.exec(stdout)?.[1]?.split('/').at(-1) ?? 'none'))).toBe(true);

    const { calibrations } = CalibrationFile.parse(JSON.parse(await readFile(into, 'utf8')));
    expect(calibrations).toHaveLength(1);
    const { fileLinear, sceneLinear } = calibrations[0]!.knots;
    const fitted = knotToneCurve(fileLinear, sceneLinear);
    // The curve that made the frames is the truth: 18 % grey stays, one stop up and down from it is one stop.
    for (const stops of [-3, -2, -1, 1]) {
      const file = CAMERA_CURVES['hard-toe'].toFileLinear(0.18 * 2 ** stops);
      expect(Math.abs(Math.log2(fitted.toScene(file) / 0.18) - stops)).toBeLessThan(0.08);
    }

    // Two other frames of that camera, a true stop apart.
    const options = MeasuringOptions.parse({ findPeople: false, calibrations: await readCalibrations(into) });
    const level = async (power: number) => {
      const base = plainFrame('ada-front', { curve: 'hard-toe', seed: `later ${power}` });
      const jpeg = await renderFrame({ ...base, light: { ...base.light, powerStops: power } });
      const { measurement } = await measureFrame(jpeg, options);
      expect(measurement.toneResponse.source).toBe('calibrated');
      return measurement.tone.percentilesStops.p50!;
    };
    expect(Math.abs((await level(0)) - (await level(-1)) - 1)).toBeLessThan(0.06);
  });

  it('refuses what is no bracket, with the reason and exit status 1, and keeps nothing', async () => {
    const folder = temporaryFolder();
    const into = join(folder, 'none.json');
    await writeFile(join(folder, 'B_0.jpg'), await renderFrame(plainFrame('ada-front')));
    const { status, stdout } = await runCli(['calibrate', join(folder, 'B_0.jpg'), '--into', into]);
    expect(status).toBe(1);
    expect(stdout).toMatch(/not fitted: a bracket needs 3 frames or more/);
    expect(existsSync(into)).toBe(false);
  });
});
