import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { send } from '../../src/commands/send.js';
import { REPOSITORY, recordingContext, runCli } from '../support/cli.js';
import { serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

describe('files for the next tool, from the command line', () => {
  it('audit: sidecars in both places, a mask and before and after', { timeout: 180_000 }, async () => {
    const folder = temporaryFolder();
    for (const n of [44, 45, 46, 47]) {
      copyFileSync(join(REPOSITORY, 'samples', 'shoot', `MKR_00${n}.jpg`), join(folder, `MKR_00${n}.jpg`));
    }
    // A raw of this stem, not in the shoot, owns the short name.
    const frames = [44, 45, 46, 47].map((n) => join(folder, `MKR_00${n}.jpg`));
    writeFileSync(join(folder, 'MKR_0044.dng'), 'not looked at');
    writeFileSync(join(folder, 'MKR_0045.xmp'), 'no XMP');
    const out = join(temporaryFolder(), 'report');
    const args = ['audit', ...frames, '--out', out, '--sidecars', '--sidecars-beside', '--masks', 'png8'];
    const ran = await runCli(args);
    expect(ran.status).toBe(2);
    expect(ran.stderr).toMatch(/^no sidecar: .*MKR_0045\.xmp: .*not well-formed XML.*\(sidecar-refused\)$/m);
    expect(ran.stderr).toContain('sidecars: 7 new, 0 added to, 0 unchanged');
    expect(readFileSync(join(folder, 'MKR_0045.xmp'), 'utf8')).toBe('no XMP');
    expect((await readdir(folder)).filter((name) => name.endsWith('.xmp')).sort()).toEqual([
      'MKR_0044.jpg.xmp',
      'MKR_0045.xmp',
      'MKR_0046.xmp',
      'MKR_0047.xmp',
    ]);
    expect((await readdir(join(out, 'sidecars'))).sort()).toEqual([44, 45, 46, 47].map((n) => `MKR_00${n}.xmp`));
    expect(await readdir(join(out, 'masks'))).toEqual(['MKR_0046.jpg.lower-body.png']);
    const { width, height, depth } = await sharp(join(out, 'masks', 'MKR_0046.jpg.lower-body.png')).metadata();
    const frame = await sharp(join(folder, 'MKR_0046.jpg')).metadata();
    expect([width, height, depth]).toEqual([frame.width, frame.height, 'uchar']);
    expect(await readdir(join(out, 'before-after'))).toContain('MKR_0046.jpg.jpg');
    const page = readFileSync(join(out, 'report.html'), 'utf8');
    expect(page).toMatch(/alt="MKR_0046\.jpg as it is, and beside it with [^"]*lower body \+\d\.\d\d stops/);
  });

  it('send: sidecars of what the service measured, for unreadable frames too', async () => {
    const { url } = await serviceForTest();
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'P1.jpg'), 'one');
    writeFileSync(join(folder, 'bad.jpg'), 'refuse frame-corrupt');
    const context = recordingContext();
    await send([folder], { to: url, sidecarsBeside: true, json: true }, context);
    expect(context.err()).toBe('sidecars: 2 new, 0 added to, 0 unchanged\n');
    expect(readFileSync(join(folder, 'P1.xmp'), 'utf8')).toContain('<stopledger:frameSha256>');
    expect(readFileSync(join(folder, 'bad.xmp'), 'utf8')).toContain('<rdf:li>stopledger: unreadable</rdf:li>');
  });

  it.each([
    [['--sidecars'], /--sidecars needs --out/],
    [['--masks', 'png8'], /--masks needs --out/],
    [['--masks', 'jpeg'], /Allowed choices are png8, png16, tiff8, tiff16/],
  ])('%j without a folder, or of an unknown kind, is refused', async (args, why) => {
    const ran = await runCli(['audit', REPOSITORY, ...args]);
    expect([ran.status, ran.stdout]).toEqual([1, '']);
    expect(ran.stderr).toMatch(why);
  });
});
