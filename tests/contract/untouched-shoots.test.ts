import { expect, it, onTestFinished } from 'vitest';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, startPostgres } from '../support/postgres-server.js';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { openPostgresStore } from '../../src/store/postgres/open-postgres.js';
import type { ShootStore } from '../../src/store/port.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const LATER = new Date(Date.now() + 3600_000).toISOString();
const EARLIER = new Date(Date.now() - 3600_000).toISOString();

async function holds(stores: [ShootStore, ShootStore]): Promise<void> {
  const [one, other] = stores;
  const create = (id: string) => one.createShoot({ id, name: id, plan: ShootPlan.parse({}), studio: null });
  const frame = (shootId: string) => one.addFrame({ shootId, name: '1.jpg', sha256: 'a'.repeat(64), bytes: 1, maxFrames: 9 }); // prettier-ignore
  for (const id of ['complete', 'open', 'empty']) await create(id);
  for (const id of ['complete', 'open']) await frame(id);
  await one.completeShoot('complete');
  expect(await one.listUntouched(EARLIER)).toEqual([]);
  expect((await one.listUntouched(LATER)).sort()).toEqual(['complete', 'empty', 'open']);
  // Touched between the look and the deletion: it stays.
  expect(await one.deleteShoot('open', EARLIER)).toBe(false);
  expect(await one.getShoot('open')).not.toBeNull();
  // Of two processes that sweep at once, one deletes each.
  for (const id of ['complete', 'open', 'empty']) {
    const deleted = await Promise.all([one.deleteShoot(id, LATER), other.deleteShoot(id, LATER)]);
    expect(deleted.filter(Boolean)).toHaveLength(1);
  }
  expect((await one.listRemovals()).sort()).toEqual(['complete', 'empty', 'open']);
  for (const id of ['complete', 'open', 'empty']) await other.removalDone(id);
  expect(await one.listRemovals()).toEqual([]);
}

it('SQLite: old shoots are found and deleted once, and noted until nothing is left of them', async () => {
  const store = await openSqliteStore(temporaryFolder());
  onTestFinished(() => store.close());
  await holds([store, store]);
});

it.skipIf(!POSTGRES_INSTALLED)(`PostgreSQL: the same, from two processes at once${POSTGRES_NOTE}`, async () => {
  const postgres = await startPostgres();
  onTestFinished(() => postgres.remove());
  const url = await postgres.newDatabase();
  const open = () => openPostgresStore({ url, onTrouble: () => undefined });
  const stores: [ShootStore, ShootStore] = [await open(), await open()];
  onTestFinished(async () => {
    for (const store of stores) await store.close();
  });
  await holds(stores);
});
