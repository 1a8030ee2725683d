import { describe, expect, it } from 'vitest';
import { Problem } from '../../src/contracts/api.js';
import { ShootReport } from '../../src/contracts/report.js';
import { lookOf } from '../../src/shoot/look/save-look.js';
import { judgeFakes, times } from '../support/fake-shoot.js';
import { put, serviceForFile } from '../support/service.js';

const running = serviceForFile();
const create = (plan: unknown) =>
  fetch(`${running().url}/v1/shoots`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ name: 'Makers', plan }),
  });

describe('a plan over HTTP', () => {
  it('carries set-ups, a look and finished exports into the report', async () => {
    const look = lookOf(judgeFakes(times(6)), 'hall');
    const plan = {
      light: 'flash',
      finished: true,
      look,
      setups: [{ name: 'front', reading: { fNumber: 8, iso: 100 } }],
    };
    const created = await create(plan);
    expect(created.status).toBe(201);
    const shoot = running().url + (created.headers.get('location') ?? '');
    await put(shoot, '1.jpg', 'measure 1');
    const report = ShootReport.parse(await (await fetch(`${shoot}/report?wait=60`)).json());
    expect(report.plan).toMatchObject(plan);
    expect(report.planCompliance.map(({ name, frames }) => [name, frames])).toEqual([['front', 1]]);
    expect(report.setups[0]?.look?.look).toBe('hall');
    expect(report.summary.notes[0]).toMatch(/^Finished exports/);
  });

  it.each([
    [{ setups: [{ name: 'front', reading: { fNumber: 'f/8', iso: 100 } }] }, 'plan.setups.0.reading.fNumber'],
    [{ look: { schemaVersion: 1, kind: 'look' } }, 'plan.look.name'],
    [{ setups: [{ name: 'a' }, { name: 'b' }] }, 'plan.setups.0'],
  ])('names the field that is wrong: %j', async (plan, path) => {
    const refused = await create(plan);
    const problem = Problem.parse(await refused.json());
    expect([refused.status, problem.code]).toEqual([400, 'bad-plan']);
    expect(problem.detail).toContain(`${path}: `);
  });
});
