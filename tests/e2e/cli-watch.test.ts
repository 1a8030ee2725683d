import { appendFileSync, copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs'; // prettier-ignore
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { ShootReport } from '../../src/contracts/report.js';
import { WatchEvent } from '../../src/contracts/watch.js';
import { REPOSITORY, runCli, startCli, type RunningCli } from '../support/cli.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const PERSON = join(REPOSITORY, 'tests', 'fixtures', 'people', 'cole-side45.jpg');
const bytes = readFileSync(PERSON);
const HALF = Math.floor(bytes.length / 2);

const eventsIn = (stdout: string): WatchEvent[] =>
  stdout
    .split('\n')
    .slice(0, -1)
    .map((line) => WatchEvent.parse(JSON.parse(line)));

type FrameTold = Extract<WatchEvent, { event: 'frame' }>;

const framesIn = (stdout: string, name: string): FrameTold[] =>
  eventsIn(stdout).filter((event): event is FrameTold => event.event === 'frame' && event.frame.name === name);

/** Waits until this frame was told so many times; gives the last telling. */
const told = (cli: RunningCli, name: string, times = 1): Promise<FrameTold> =>
  cli.until((stdout) => framesIn(stdout, name)[times - 1]);

const happened = (cli: RunningCli, kind: WatchEvent['event']): Promise<WatchEvent> =>
  cli.until((stdout) => eventsIn(stdout).find(({ event }) => event === kind));

/** A folder to watch and one to keep in. */
function place(): { dir: string; env: Record<string, string> } {
  const root = temporaryFolder();
  mkdirSync(join(root, 'in'));
  return { dir: join(root, 'in'), env: { XDG_STATE_HOME: join(root, 'state') } };
}

/** Writes elsewhere in the folder, then gives it its name, as careful writers do. */
function renameIn(dir: string, name: string, content: Uint8Array): void {
  writeFileSync(join(dir, '.unfinished'), content);
  renameSync(join(dir, '.unfinished'), join(dir, name));
}

const darker = (): Promise<Buffer> => sharp(PERSON).linear(0.3, 0).jpeg().toBuffer();

describe('stopledger watch, as a process', () => {
  it(
    'judges frames written in pieces, renamed in, replaced, in folders; deleted ones count no more; goes on after a restart',
    { timeout: 120_000 },
    async () => {
      const { dir, env } = place();
      const args = ['watch', dir, '--json', '--patience', '600'];
      const cli = startCli(args, env);
      await happened(cli, 'start');
      writeFileSync(join(dir, 'P1.jpg'), bytes.subarray(0, HALF));
      writeFileSync(join(dir, 'notes.txt'), 'no frame');
      renameIn(dir, 'P2.jpg', bytes);
      expect((await told(cli, 'P2.jpg')).frame.verdict).toBe('consistent');
      appendFileSync(join(dir, 'P1.jpg'), bytes.subarray(HALF, HALF + 100));
      appendFileSync(join(dir, 'P1.jpg'), bytes.subarray(HALF + 100));
      expect((await told(cli, 'P1.jpg')).frame.verdict).toBe('consistent');
      mkdirSync(join(dir, 'card'));
      copyFileSync(PERSON, join(dir, 'card', 'P3.jpg'));
      expect(await told(cli, 'card__P3.jpg')).toMatchObject({ path: join(dir, 'card', 'P3.jpg'), replaced: false });
      for (const name of ['P5.jpg', 'P6.jpg']) {
        renameIn(dir, name, bytes);
        await told(cli, name);
      }
      renameIn(dir, 'P2.jpg', await darker());
      const again = await told(cli, 'P2.jpg', 2);
      expect(again).toMatchObject({ replaced: true, frame: { verdict: 'off' } });
      expect(again.advice).not.toBeNull();
      rmSync(join(dir, 'P1.jpg'));
      expect(await happened(cli, 'removed')).toEqual({ event: 'removed', name: 'P1.jpg' });
      cli.kill('SIGINT');
      const ran = await cli.ended;
      expect(ran).toMatchObject({ status: 2, signal: null, stderr: '' });
      const events = eventsIn(ran.stdout);
      expect(events.at(-1)).toMatchObject({
        event: 'end',
        because: 'stopped by SIGINT',
        summary: { frames: 4, off: 1 },
      });
      expect(framesIn(ran.stdout, 'P1.jpg')).toHaveLength(1);
      const names = events.flatMap((event) => (event.event === 'frame' ? [event.frame.name] : []));
      expect(new Set(names)).toEqual(new Set(['P1.jpg', 'P2.jpg', 'card__P3.jpg', 'P5.jpg', 'P6.jpg']));

      const next = startCli(args, env);
      expect(await happened(next, 'resumed')).toEqual({ event: 'resumed', frames: 4, flagged: 1, setups: 1 });
      renameIn(dir, 'P7.jpg', bytes);
      await told(next, 'P7.jpg');
      next.kill('SIGTERM');
      const second = await next.ended;
      expect(second).toMatchObject({ status: 2, signal: null, stderr: '' });
      expect(eventsIn(second.stdout).filter(({ event }) => event === 'frame')).toHaveLength(1);

      const forgotten = await runCli(['watch', dir, '--forget'], env);
      expect(forgotten).toMatchObject({ status: 0, stderr: '' });
      expect(readdirSync(join(env['XDG_STATE_HOME'] ?? '', 'stopledger', 'watch'))).toEqual([]);
    },
  );

  it('a file that stays broken is told once it stood still, and judged anew when it is mended', { timeout: 120_000 }, async () => {
    const { dir, env } = place();
    const cli = startCli(['watch', dir, '--json', '--poll', '--patience', '1'], env);
    writeFileSync(join(dir, 'P1.jpg'), bytes.subarray(0, HALF));
    const broken = await told(cli, 'P1.jpg');
    expect(broken.frame.verdict).toBe('unreadable');
    expect(broken.frame.flags.map(({ code }) => code)).toEqual(['unreadable']);
    appendFileSync(join(dir, 'P1.jpg'), bytes.subarray(HALF));
    expect(await told(cli, 'P1.jpg', 2)).toMatchObject({ replaced: true, frame: { verdict: 'consistent' } });
    cli.kill('SIGINT');
    expect(await cli.ended).toMatchObject({ status: 0, stderr: '' });
  }); // prettier-ignore

  it('writes the whole report also where a frame cannot be read', { timeout: 120_000 }, async () => {
    const { dir, env } = place();
    const out = join(dir, '..', 'report');
    copyFileSync(PERSON, join(dir, 'P1.jpg'));
    writeFileSync(join(dir, 'P2.jpg'), 'no picture');
    const cli = startCli(['watch', dir, '--out', out, '--json', '--patience', '1'], env);
    for (const name of ['P1.jpg', 'P2.jpg']) await told(cli, name);
    cli.kill('SIGINT');
    const ran = await cli.ended;
    expect(ran).toMatchObject({ status: 2, signal: null, stderr: '' });
    expect(readFileSync(join(out, 'report.html'), 'utf8')).toContain('P2.jpg');
  });

  it('keeps a report in the output folder, also where that lies inside, and ends with 1 when the folder goes', { timeout: 120_000 }, async () => {
    const { dir, env } = place();
    const out = join(dir, 'report');
    for (const name of ['P1.jpg', 'P2.jpg']) copyFileSync(PERSON, join(dir, name));
    const cli = startCli(['watch', dir, '--out', out, '--no-recursive'], env);
    for (const name of ['P1', 'P2']) await cli.shown(`${name}.jpg        s1      · consistent`);
    mkdirSync(join(dir, 'deeper'));
    copyFileSync(PERSON, join(dir, 'deeper', 'P4.jpg'));
    renameIn(dir, 'P3.jpg', await darker());
    await cli.until((stdout) => (/^P3\.jpg +s1 +! off .*level-off-baseline/m.test(stdout) ? true : undefined));
    cli.kill('SIGINT');
    const ran = await cli.ended;
    expect(ran).toMatchObject({ status: 2, stderr: '' });
    expect(ran.stdout).not.toContain('\u0007');
    expect(ran.stdout).toContain('2 of 3 frames consistent; 0 to check, 1 off, 0 unreadable.');
    const report = ShootReport.parse(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')));
    expect(report.frames.map(({ name }) => name)).toEqual(['P1.jpg', 'P2.jpg', 'P3.jpg']);
    expect(readFileSync(join(out, 'frames.csv'), 'utf8').trim().split('\n')).toHaveLength(4);
    expect(readFileSync(join(out, 'report.html'), 'utf8')).toContain('P3.jpg');
    expect(readdirSync(join(out, 'previews')).sort()).toEqual(['P1.jpg.jpg', 'P2.jpg.jpg', 'P3.jpg.jpg']);
    expect(readdirSync(out).filter((name) => name.endsWith('.tmp'))).toEqual([]);
    expect(existsSync(env['XDG_STATE_HOME'] ?? '')).toBe(false);

    const next = startCli(['watch', dir, '--out', out, '--no-recursive'], env);
    await next.shown('3 frames known from before, in 1 set-up: 1 flagged');
    next.kill('SIGINT');
    expect((await next.ended).status).toBe(2);

    const outside = join(dir, '..', 'report');
    const last = startCli(['watch', dir, '--out', outside, '--no-recursive'], env);
    await last.until((stdout) => (/^P\d\.jpg (?:.*\n)+P\d\.jpg (?:.*\n)+P\d\.jpg /m.test(stdout) ? true : undefined));
    rmSync(dir, { recursive: true });
    const lost = await last.ended;
    expect(lost.status).toBe(1);
    expect(lost.stderr).toMatch(/the folder .* is gone/);
    expect(lost.stdout).toContain('2 of 3 frames consistent');
    const left = ShootReport.parse(JSON.parse(readFileSync(join(outside, 'report.json'), 'utf8')));
    expect(left.summary.frames).toBe(3);
  }); // prettier-ignore
});
