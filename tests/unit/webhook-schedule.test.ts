import { setTimeout as delay } from 'node:timers/promises';
import { pino } from 'pino';
import { expect, it, onTestFinished } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import { createNotifier } from '../../src/notify/notifier.js';
import { createTimerSchedule } from '../../src/notify/schedule.js';
import { AT_ONCE_A_LANE, Turns } from '../../src/notify/turns.js';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import { until } from '../support/until.js';

const AT = '2026-05-16T10:00:00.000Z';

/** Timers that were set before are over: those of one length end in the order in which they were set. */
const timersOver = (): Promise<void> => delay(0);

it('an attempt that waits for its turn is not set a second time, and not made once it was dropped', async () => {
  const schedule = createTimerSchedule();
  onTestFinished(() => schedule.close());
  const made: string[] = [];
  let open = (): void => undefined;
  const gate = new Promise<void>((resolve) => {
    open = resolve;
  });
  await schedule.start(async ({ id }) => {
    made.push(id);
    await gate;
  });
  const busy = Array.from({ length: AT_ONCE_A_LANE }, (_, index) => `busy ${index}`);
  for (const id of [...busy, 'twice', 'dropped']) await schedule.set({ id, at: AT }, 'lane');
  await timersOver();
  expect(made).toEqual(busy);
  for (const id of ['twice', 'last']) await schedule.set({ id, at: AT }, 'lane');
  await schedule.drop([{ id: 'dropped', at: AT }]);
  await timersOver();
  open();
  await until(() => made.includes('last'));
  expect(made).toEqual([...busy, 'twice', 'last']);
});

it('a lane whose work never ends holds up no other, however much of it waits', async () => {
  const turns = new Turns();
  const begun: string[] = [];
  let end = (): void => undefined;
  const dead = new Promise<void>((resolve) => {
    end = resolve;
  });
  for (let n = 0; n < 200; n += 1) {
    turns.add('dead', async () => {
      begun.push('dead');
      await dead;
    });
  }
  await new Promise<void>((resolve) => {
    turns.add('alive', () => Promise.resolve(resolve()));
  });
  expect(begun).toHaveLength(AT_ONCE_A_LANE);
  end();
  await turns.idle();
  expect(begun).toHaveLength(200);
});

it('a shoot that cannot be judged keeps no other’s webhook back', async () => {
  const store = await openSqliteStore(temporaryFolder());
  const schedule = createTimerSchedule(() => 0);
  const set: string[] = [];
  const log: string[] = [];
  const notifier = createNotifier({
    settings: { allow: ['https://hooks.example'], privateRanges: [], secrets: [], studioSecrets: [] },
    deliveries: store.deliveries,
    schedule: { ...schedule, set: (attempt) => Promise.resolve(void set.push(attempt.id)) },
    reportOf: () => Promise.reject(new Error('cannot be judged')),
    log: pino({}, { write: (line: string) => void log.push(line) }),
  });
  onTestFinished(async () => {
    await notifier.close();
    await store.close();
  });
  const webhook = { url: 'https://hooks.example/', on: ['completed' as const] };
  for (const id of ['a', 'b']) {
    await store.createShoot({ id, name: id, plan: ShootPlan.parse({}), studio: null, webhook });
    await store.completeShoot(id);
  }
  await store.deliveries.announce('b', AT, [{ id: 'msg_b', event: 'completed', url: webhook.url, body: '{}' }]);
  await notifier.start();
  expect(set).toEqual(['msg_b']);
  expect(log.join('')).toMatch(/"shootId":"a".*cannot be judged/);
});
