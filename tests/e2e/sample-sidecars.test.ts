import { copyFileSync, readFileSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { ShootReport } from '../../src/contracts/report.js';
import { correctedFrames } from '../../src/render/corrected-frames.js';
import { REPOSITORY, runCli } from '../support/cli.js';
import { EXIFTOOL_INSTALLED, EXIFTOOL_NOTE, exifTags } from '../support/exiftool.js';
import { temporaryFolder } from '../support/temporary-folder.js';

/** Frames of the sample shoot with the incidents that sidecars tell apart: a flash that failed, a cast, dark legs. */
const NUMBERS = [6, 7, 8, 9, 10, 27, 28, 29, 33, 34, 35, 45, 46, 48];

/** ExifTool writes a tag's name with a capital. */
const tagged = (facts: object): Record<string, unknown> =>
  Object.fromEntries(
    Object.entries(facts)
      .filter(([, value]) => value !== null && value !== undefined)
      .map(([name, value]) => [name.charAt(0).toUpperCase() + name.slice(1), value as unknown]),
  );
const ours = (tags: Record<string, unknown>, name: string): unknown => tags[`XMP-stopledger:${name}`];

describe.skipIf(!EXIFTOOL_INSTALLED)(`sidecars of the sample shoot, read by ExifTool${EXIFTOOL_NOTE}`, () => {
  it('say of each frame what the report says of it', { timeout: 240_000 }, async () => {
    const folder = temporaryFolder();
    const names = NUMBERS.map((n) => `MKR_${String(n).padStart(4, '0')}.jpg`);
    for (const name of names) copyFileSync(join(REPOSITORY, 'samples', 'shoot', name), join(folder, name));
    const out = join(temporaryFolder(), 'report');
    const ran = await runCli(['audit', folder, '--out', out, '--sidecars', '--quiet']);
    expect(ran.status, ran.stderr).toBe(2);
    expect((await readdir(join(out, 'sidecars'))).sort()).toEqual(names.map((name) => name.replace('.jpg', '.xmp')));
    const report = ShootReport.parse(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')));
    expect(report.frames.map(({ name }) => name)).toEqual(names);

    const seen = new Set<string>();
    for (const frame of correctedFrames(report)) {
      const tags = exifTags(join(out, 'sidecars', frame.name.replace('.jpg', '.xmp')));
      expect(tags['ExifTool:Warning'], frame.name).toBeUndefined();
      expect(tags['ExifTool:Error'], frame.name).toBeUndefined();
      const subject = [tags['XMP-dc:Subject']].flat();
      expect(subject[0], frame.name).toBe(`stopledger: ${frame.verdict}`);
      expect(subject.length - 1, frame.name).toBe(
        new Set(frame.flags.filter(({ severity }) => severity !== 'note').map(({ code }) => code)).size,
      );
      expect(ours(tags, 'Verdict')).toBe(frame.verdict);
      expect(ours(tags, 'Setup')).toBe(frame.setup);
      for (const [name, stops] of Object.entries(tagged(frame.deviation))) {
        expect(ours(tags, name), `${frame.name} ${name}`).toBeCloseTo(stops as number, 3);
      }
      const flags = (ours(tags, 'Flags') ?? []) as Record<string, unknown>[];
      expect(flags.map(({ Code }) => Code)).toEqual(frame.flags.map(({ code }) => code));
      expect(flags.map(({ Because }) => Because)).toEqual(frame.flags.map(({ because }) => because));
      const lifts = (ours(tags, 'Lifts') ?? []) as Record<string, unknown>[];
      expect(lifts.map(({ Region }) => Region)).toEqual(frame.lifts.map(({ region }) => region));
      lifts.forEach(({ Stops }, i) => {
        expect(Stops, frame.name).toBeCloseTo(frame.lifts[i]?.stops ?? Number.NaN, 3);
      });
      const corrections = (ours(tags, 'Corrections') ?? []) as Record<string, unknown>[];
      expect(corrections.map(({ Step }) => Step)).toEqual(frame.corrections.map(({ step }) => step));
      corrections.forEach(({ Mired }, i) => {
        const { mired } = frame.corrections[i] ?? { mired: null };
        if (mired === null) expect(Mired).toBeUndefined();
        else expect(Mired, frame.name).toBeCloseTo(mired, 1);
      });

      const measurement = FrameMeasurement.parse(JSON.parse(readFileSync(join(out, frame.measurement ?? ''), 'utf8')));
      expect(ours(tags, 'FrameSha256')).toBe(measurement.source.sha256);
      const regions = (tags['XMP-iptcExt:ImageRegion'] ?? []) as { RId: string; RegionBoundary: { RbShape: string } }[];
      const count = (prefix: string): number => regions.filter(({ RId }) => RId.startsWith(prefix)).length;
      expect(count('stopledger-face-')).toBe(measurement.people.filter(({ face }) => face !== null).length);
      expect(count('stopledger-lower-body-')).toBe(
        measurement.people.filter(({ lowerBody }) => (lowerBody?.outline.length ?? 0) >= 3).length,
      );
      for (const { code, severity } of frame.flags) if (severity !== 'note') seen.add(code);
    }
    // The incidents that were put into these frames were told at all.
    for (const code of ['light-missing', 'cast-shifted', 'lower-body-dark']) expect([...seen]).toContain(code);
  });
});
