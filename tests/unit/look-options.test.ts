import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkSaveLook, readLook, saveLook } from '../../src/commands/look-options.js';
import { readPlan } from '../../src/commands/plan-options.js';
import { exitStatusOf } from '../../src/commands/present.js';
import { renderReportHtml } from '../../src/render/html.js';
import { renderTerminalReport } from '../../src/render/terminal.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { recordingContext } from '../support/cli.js';
import { judgeFakes, lit, times } from '../support/fake-shoot.js';
import { temporaryFolder } from '../support/temporary-folder.js';

describe('--save-look and --look', () => {
  it('what one writes, the other reads', async () => {
    const file = join(temporaryFolder(), 'hall.json');
    const context = recordingContext();
    const report = judgeFakes(times(8));
    await saveLook(report, { saveLook: file }, context);
    expect(context.out()).toContain('The look "hall" (8 frames)');
    expect(await readLook(file)).toEqual(lookOf(report, 'hall'));
    expect((await readPlan({ look: file, finished: true }, [])).look?.name).toBe('hall');
    const quiet = recordingContext();
    await saveLook(report, { saveLook: file, json: true }, quiet);
    expect(quiet.out()).toBe('');
  });

  it('say what is wrong: no file, no set-up, no look, and where', async () => {
    const folder = temporaryFolder();
    const context = recordingContext();
    expect(() => {
      checkSaveLook({ saveLookSetup: 's2' });
    }).toThrow(/--save-look FILE/);
    await expect(saveLook(judgeFakes(times(4)), { saveLook: folder }, context)).rejects.toThrow(/cannot be written/);
    await expect(
      saveLook(judgeFakes(times(4)), { saveLook: join(folder, 'x'), saveLookSetup: 's7' }, context),
    ).rejects.toThrow(/"s7"/);
    await expect(readLook(join(folder, 'none.json'))).rejects.toThrow(/cannot be read/);
    const file = join(folder, 'look.json');
    writeFileSync(file, '{');
    await expect(readLook(file)).rejects.toThrow(/is not JSON/);
    await saveLook(judgeFakes(times(4)), { saveLook: file }, context);
    const spoilt = readFileSync(file, 'utf8').replace('"medianStops": ', '"medianStop": ');
    writeFileSync(file, spoilt);
    await expect(readLook(file)).rejects.toThrow(/figures\.\w+\.medianStops/);
  });
});

describe('--plan', () => {
  it('names the field that cannot be read', async () => {
    const file = join(temporaryFolder(), 'plan.json');
    writeFileSync(file, JSON.stringify({ setups: [{ name: 'front', reading: { fNumber: 'f/8', iso: 100 } }] }));
    await expect(readPlan({ plan: file }, [])).rejects.toThrow(/setups\[0\]\.reading\.fNumber/);
  });
});

describe('a shoot off its plan or look', () => {
  const look = lookOf(judgeFakes(times(10)), 'hall <b>');
  const reading = { fNumber: 8, iso: 100 };
  const setups = [
    { name: 'front', frames: { first: 'F001.jpg', last: 'F006.jpg' }, reading },
    {
      name: 'side',
      frames: { first: 'F007.jpg', last: 'F012.jpg' },
      reading: { fNumber: 11, iso: 100 },
      overReadingStops: 1,
    },
  ];

  it('ends with 2 though its frames are alike, and says so on the terminal and on the page', () => {
    const off = judgeFakes(times(12, lit(-1)), { light: 'flash', look });
    expect(off.summary.consistent).toBe(12);
    expect(exitStatusOf(off)).toBe(2);
    expect(renderTerminalReport(off).replace(/\s+/g, ' ')).toMatch(
      /- S1: level −\d.*third-stop steps of light restore it/,
    );
    const page = renderReportHtml(off);
    expect(page).toContain('Against the look hall &lt;b&gt;');
    expect(exitStatusOf(judgeFakes(times(12), { light: 'flash', look }))).toBe(0);
  });

  it('shows planned set-ups with what the meter read', () => {
    const report = judgeFakes(times(12), { light: 'flash', setups });
    expect(report.planCompliance[1]).toMatchObject({ verdict: 'off-plan', settings: { fromPlanStops: 0 } });
    expect(exitStatusOf(report)).toBe(2);
    expect(renderReportHtml(report)).toContain('Planned: side');
    expect(renderTerminalReport(report)).toContain('the readings say +1.00 stop');
  });
});
