import { expect, it } from 'vitest';
import { Reports } from '../../src/api/reports.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { judgeShoot } from '../../src/shoot/judge.js';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { temporaryFolder } from '../support/temporary-folder.js';

it('a report that was being judged while its shoot was deleted is not kept', async () => {
  const store = await openSqliteStore(temporaryFolder());
  const shoot = await store.createShoot({ id: 'a', name: 'Hall', plan: ShootPlan.parse({}), studio: null });
  let looked = 0;
  const reports: Reports = new Reports({
    store: {
      async listFrames(id) {
        looked += 1;
        const frames = await store.listFrames(id);
        if (looked === 1) reports.forget(id);
        return frames;
      },
    },
    judge: judgeShoot,
  });
  await reports.of(shoot);
  await reports.of(shoot);
  expect(looked).toBe(2);
  await reports.of(shoot);
  expect(looked).toBe(2);
  await store.close();
});
