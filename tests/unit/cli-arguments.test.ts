import { readFileSync } from 'node:fs';
import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { describeIgnored, findFrames, naturalOrder } from '../../src/commands/find-frames.js';
import { parseTolerance, readPlan, resolveReference } from '../../src/commands/plan-options.js';
import { main } from '../../src/commands/program.js';
import { REPOSITORY, recordingContext } from '../support/cli.js';
import { checkedFrameName } from '../../src/api/frame-name.js';

let root: string;
const put = (path: string, text = 'x') => writeFile(join(root, path), text);

beforeAll(async () => {
  root = await mkdtemp(join(tmpdir(), 'stopledger-find-'));
  for (const folder of ['day/card-a', 'day/card-b/.cache', 'other', 'empty'])
    await mkdir(join(root, folder), { recursive: true });
  for (const file of [
    'day/P10.jpg',
    'day/P9.JPG',
    'day/notes.txt',
    'day/.P1.jpg',
    'day/card-a/P9.JPG',
    'day/card-b/P9.JPG',
    'day/card-b/.cache/P1.jpg',
    'other/P10.jpg',
    'other/odd.bin',
  ]) {
    await put(file);
  }
  await symlink(join(root, 'other'), join(root, 'day', 'link'));
});
afterAll(() => rm(root, { recursive: true, force: true }));

const find = async (...paths: string[]) => findFrames(paths.map((path) => join(root, path)));
const namesOf = async (...paths: string[]) => (await find(...paths)).frames.map((frame) => frame.name);

describe('finding frames', () => {
  it('goes through folders in natural order and keeps files of one name apart', async () => {
    expect(await namesOf('day')).toEqual(['card-a__P9.JPG', 'card-b__P9.JPG', 'P9.JPG', 'P10.jpg']);
  });

  it('counts what it leaves out', async () => {
    const { ignored } = await find('day');
    expect(ignored).toEqual({ hidden: 2, notImages: 1, folderLinks: 1, reportFolders: 0, deeperFolders: 0 });
    expect(describeIgnored(ignored)).toBe('1 file that is no image, 2 hidden entries, 1 link to a folder ignored');
    expect(describeIgnored({ hidden: 0, notImages: 0, folderLinks: 0, reportFolders: 0, deeperFolders: 0 })).toBe('');
  });

  it('puts the folder in front where two named folders hold the same', async () => {
    expect(await namesOf('day', 'other')).toEqual([
      'card-a__P9.JPG', 'card-b__P9.JPG', 'P9.JPG', 'day__P10.jpg', 'other__P10.jpg',
    ]); // prettier-ignore
  });

  it('takes a file that is named whatever it is called, and once', async () => {
    expect(await namesOf('other/odd.bin', 'other/odd.bin', 'other')).toEqual(['odd.bin', 'P10.jpg']);
  });

  it('gives names that a service takes', async () => {
    await mkdir(join(root, 'strange', 'd'.repeat(200)), { recursive: true });
    for (const file of [
      'strange/ a\u0007.jpg',
      'strange/b\\c.jpg',
      `strange/${'d'.repeat(200)}/${'e'.repeat(200)}.jpg`,
    ])
      await put(file);
    const names = await namesOf('strange');
    expect(new Set(names).size).toBe(3);
    for (const name of names) expect(checkedFrameName(name)).toBe(name);
  });

  it('refuses a path that is not there, and a folder without frames', async () => {
    await expect(find('nowhere')).rejects.toMatchObject({ code: 'bad-usage' });
    await expect(find('empty')).rejects.toMatchObject({ code: 'no-frames' });
  });

  it('orders as people count', () => {
    expect(['P10', 'P9', 'p9', 'P1a', 'P01'].sort(naturalOrder)).toEqual(['P01', 'P1a', 'p9', 'P9', 'P10']);
  });
});

describe('plan options', () => {
  const frames = [
    { name: 'card-a__P9.JPG', path: '/shoot/card-a/P9.JPG' },
    { name: 'card-b__P9.JPG', path: '/shoot/card-b/P9.JPG' },
    { name: 'P1.JPG', path: '/shoot/P1.JPG' },
  ];

  it.each([
    ['1/3', 1 / 3],
    ['0.5', 0.5],
    ['.25', 0.25],
    ['2', 2],
    [' 1 / 4 ', 0.25],
  ])('reads a tolerance of %j', (text, stops) => {
    expect(parseTolerance(text)).toBeCloseTo(stops, 12);
  });

  it.each(['0', '-1', '1/0', '6', 'third', '', '1/3/3', '0x1', '1e-1'])('refuses a tolerance of %j', (text) => {
    expect(() => parseTolerance(text)).toThrow(expect.objectContaining({ code: 'bad-usage' }) as Error);
  });

  it('finds the reference frame by name, file name or path, and refuses what fits none or several', () => {
    expect(resolveReference('card-a__P9.JPG', frames)).toBe('card-a__P9.JPG');
    expect(resolveReference('./card-b/P9.JPG', frames)).toBe('card-b__P9.JPG');
    expect(resolveReference('P1.JPG', frames)).toBe('P1.JPG');
    expect(() => resolveReference('P9.JPG', frames)).toThrow(/fits 2 frames/);
    expect(() => resolveReference('9.JPG', frames)).toThrow(/no frame has this name/);
  });

  it('lays the options over the plan file', async () => {
    await put('plan.json', JSON.stringify({ light: 'flash', toleranceStops: 0.5, target: { iso: 200 } }));
    const plan = await readPlan({ plan: join(root, 'plan.json'), tolerance: '1/4' }, frames);
    expect(plan).toMatchObject({ light: 'flash', toleranceStops: 0.25, target: { iso: 200 } });
  });

  it.each([
    ['{', 'bad-plan'],
    ['{"unknown": 1}', 'bad-plan'],
    ['{"toleranceStops": -1}', 'bad-plan'],
  ])('refuses a plan file of %s', async (text, code) => {
    await put('bad.json', text);
    await expect(readPlan({ plan: join(root, 'bad.json') }, frames)).rejects.toMatchObject({ code });
  });
});

describe('the command line', () => {
  it.each([
    ['a path that is not there', ['audit', '/no/such/folder'], /there is no such file or folder.*bad-usage/],
    ['an unknown option', ['audit', '.', '--wrong'], /unknown option/],
    ['an unknown light', ['audit', '.', '--light', 'moon'], /Allowed choices are auto, flash, continuous/],
    ['a tolerance of nothing', ['audit', 'tests/fixtures/people', '--tolerance', '0'], /--tolerance/],
    ['a reference that is no frame', ['audit', 'tests/fixtures/people', '--reference', 'P9'], /no frame has this name/],
    ['an unknown command', ['polish'], /unknown command/],
    ['no path', ['audit'], /missing required argument/],
  ])('ends with 1 and a reason for %s', async (_, args, reason) => {
    const context = recordingContext();
    expect(await main(args, context)).toBe(1);
    expect(context.out()).toBe('');
    expect(context.err()).toMatch(reason);
  });

  it('tells its version and help on standard output, with the exit statuses', async () => {
    const { version } = JSON.parse(readFileSync(join(REPOSITORY, 'package.json'), 'utf8')) as { version: string };
    const asked = recordingContext();
    expect(await main(['--version'], asked)).toBe(0);
    expect(asked.out()).toBe(`${version}\n`);
    const help = recordingContext();
    expect(await main(['audit', '--help'], help)).toBe(0);
    for (const option of [
      '--out',
      '--plan',
      '--tolerance',
      '--light',
      '--reference',
      '--json',
      '--quiet',
      'Exit status: 0',
    ]) {
      expect(help.out()).toContain(option);
    }
  });
});
