import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { ShootReport } from '../../src/contracts/report.js';
import { REPOSITORY, runCli, startCli } from '../support/cli.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const PERSON = join(REPOSITORY, 'tests', 'fixtures', 'people', 'cole-side45.jpg');

/** Three times the same frame, so that whatever it holds, nothing stands apart. */
function evenShoot(): string {
  const folder = temporaryFolder();
  for (const name of ['P1.jpg', 'P2.jpg', 'P3.jpg']) copyFileSync(PERSON, join(folder, name));
  return folder;
}

describe('stopledger audit, as a process', () => {
  it('measures and judges files: nothing stands apart', { timeout: 120_000 }, async () => {
    const ran = await runCli(['audit', evenShoot(), '--json']);
    const report = ShootReport.parse(JSON.parse(ran.stdout));
    expect(report.frames.map((frame) => frame.name)).toEqual(['P1.jpg', 'P2.jpg', 'P3.jpg']);
    for (const frame of report.frames) expect(frame.deviation.fromSetupStops).toBeCloseTo(0, 6);
    expect(report.summary.consistent).toBe(3);
    expect(ran.status).toBe(0);
    expect(ran.stderr).toBe('');
  });

  it('flags what stands apart or cannot be read, writes the folder, ends with 2', { timeout: 120_000 }, async () => {
    const folder = evenShoot();
    await sharp(PERSON).linear(0.4, 0).toFile(join(folder, 'P4.jpg'));
    writeFileSync(join(folder, 'P5.jpg'), 'not an image');
    writeFileSync(join(folder, 'P6.jpg'), '');
    writeFileSync(join(folder, 'notes.txt'), 'x');
    const out = join(temporaryFolder(), 'report');
    const ran = await runCli(['audit', folder, '--out', out, '--tolerance', '1/2', '--reference', 'P1.jpg']);
    expect(ran.status).toBe(2);
    expect(ran.stdout).toMatch(/^P4\.jpg .* off .*$/m);
    expect(ran.stdout).toMatch(/^P5\.jpg .* unreadable/m);
    expect(ran.stdout).toMatch(/^P6\.jpg .* unreadable/m);
    expect(ran.stdout).toMatch(/^P6\.jpg: .*empty/m);
    expect(ran.stderr).toBe('1 file that is no image ignored\n');
    const report = ShootReport.parse(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')));
    expect(report.plan).toMatchObject({ toleranceStops: 0.5, referenceFrame: 'P1.jpg' });
    expect((await readdir(join(out, 'overlays'))).sort()).toEqual([
      'P1.jpg.jpg',
      'P2.jpg.jpg',
      'P3.jpg.jpg',
      'P4.jpg.jpg',
    ]);
    expect(readFileSync(join(out, 'report.html'), 'utf8')).toContain('data:image/jpeg;base64,');
  });

  it('stops on SIGINT', { timeout: 120_000 }, async () => {
    const folder = evenShoot();
    writeFileSync(join(folder, 'notes.txt'), 'x');
    const cli = startCli(['audit', folder]);
    await cli.shown('ignored');
    cli.kill('SIGINT');
    expect(await cli.ended).toMatchObject({ status: 1, signal: null, stdout: '' });
  });
});

describe('bin/stopledger.js', () => {
  it('ends with 1 and a reason for what cannot be done', async () => {
    const ran = await runCli(['audit', '/no/such/folder'], {}, ['bin/stopledger.js']);
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(/there is no such file or folder.*bad-usage/);
  });
});
