import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { ShootPlan } from '../../src/contracts/plan.js';
import type { FrameRecord, ShootStore } from '../../src/store/port.js';
import { blankMeasurement } from '../fixtures/pool/blank-measurement.js';

/** One set of records, opened afresh as often as asked: what one opening wrote the next must find. */
export interface OpenableStore {
  open(): Promise<ShootStore>;
}

const A = 'a'.repeat(64);
const B = 'b'.repeat(64);
const { measurement } = blankMeasurement(Buffer.from('frame'));

/** What every store of shoot records must do, run on each of them. */
export function shootStoreContract(name: string, make: () => Promise<OpenableStore>): void {
  describe(`shoot store: ${name}`, () => {
    let records: OpenableStore;
    let store: ShootStore;
    let shootId: string;

    const add = (frame: { name: string; sha256?: string; maxFrames?: number }) =>
      store.addFrame({ shootId, sha256: A, bytes: 5, maxFrames: 1000, ...frame });
    const stateOf = async (frame: string) => (await store.getFrameRecord(shootId, frame))?.state;

    beforeEach(async () => {
      records = await make();
      store = await records.open();
      shootId = randomUUID();
      await store.createShoot({
        id: shootId,
        name: 'Makers’ day',
        plan: ShootPlan.parse({ toleranceStops: 0.5 }),
        studio: null,
      });
    });
    afterEach(() => store.close());

    it('knows the studio of a shoot, and that there may be none', async () => {
      const made = await store.createShoot({ id: randomUUID(), name: 'x', plan: ShootPlan.parse({}), studio: 'north' });
      expect((await store.getShoot(made.id))?.studio).toBe('north');
      expect((await store.getShoot(shootId))?.studio).toBeNull();
    });

    it('keeps a shoot as it was given, also when opened again', async () => {
      const before = await store.getShoot(shootId);
      expect(before).toMatchObject({ id: shootId, name: 'Makers’ day', completedAt: null });
      expect(before?.plan).toEqual(ShootPlan.parse({ toleranceStops: 0.5 }));
      expect(before?.createdAt).toMatch(/^\d{4}-\d\d-\d\dT[\d:.]+Z$/);
      await store.close();
      store = await records.open();
      expect(await store.getShoot(shootId)).toEqual(before);
      expect(await store.getShoot('nothing')).toBeNull();
      expect((await store.listShoots()).map(({ id }) => id)).toContain(shootId);
    });

    it('adds a frame once, finds the same bytes, and refuses others under its name', async () => {
      expect(await add({ name: 'x.jpg' })).toMatchObject({ created: true, frame: { state: 'received', attempts: 0 } });
      expect(await add({ name: 'x.jpg' })).toMatchObject({ created: false, frame: { sha256: A, bytes: 5 } });
      await expect(add({ name: 'x.jpg', sha256: B })).rejects.toMatchObject({ code: 'frame-name-taken' });
      expect(await store.progress(shootId)).toEqual({ received: 1, measuring: 0, measured: 0, failed: 0, total: 1 });
    });

    it('lets exactly one of many that come together create a frame', async () => {
      const same = await Promise.all(Array.from({ length: 20 }, () => add({ name: 'same.jpg' })));
      expect(same.filter(({ created }) => created)).toHaveLength(1);
      const settled = await Promise.allSettled(
        Array.from({ length: 20 }, (_, index) => add({ name: 'one.jpg', sha256: index.toString(16).repeat(64).slice(0, 64) })), // prettier-ignore
      );
      expect(settled.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
      for (const one of settled) {
        if (one.status === 'rejected') expect(one.reason).toMatchObject({ code: 'frame-name-taken' });
      }
    });

    it('spoils no other write when one of those that come together is refused', async () => {
      await add({ name: 'taken.jpg' });
      const settled = await Promise.allSettled([
        add({ name: '1.jpg' }),
        add({ name: 'taken.jpg', sha256: B }),
        add({ name: '2.jpg' }),
        store.addFrame({ shootId: 'nothing', name: '3.jpg', sha256: A, bytes: 5, maxFrames: 10 }),
        add({ name: '4.jpg' }),
      ]);
      expect(settled.map(({ status }) => status)).toEqual(['fulfilled', 'rejected', 'fulfilled', 'rejected', 'fulfilled']); // prettier-ignore
      expect((await store.progress(shootId)).total).toBe(4);
    });

    it('takes names of any script and case as they are', async () => {
      const names = ['a.jpg', 'A.jpg', 'ä.jpg', '写真 1.jpg', "it's;--.jpg", '100%.jpg'];
      for (const frame of names) await add({ name: frame });
      expect((await store.listFrames(shootId)).map((frame) => frame.name).sort()).toEqual([...names].sort());
    });

    it('takes no new frame after completion, but finds those that are there', async () => {
      await add({ name: 'x.jpg' });
      expect((await store.completeShoot(shootId))?.completedAt).not.toBeNull();
      const at = (await store.getShoot(shootId))?.completedAt;
      expect((await store.completeShoot(shootId))?.completedAt).toBe(at);
      await expect(add({ name: 'y.jpg' })).rejects.toMatchObject({ code: 'shoot-complete' });
      expect(await add({ name: 'x.jpg' })).toMatchObject({ created: false });
      await expect(add({ name: 'x.jpg', sha256: B })).rejects.toMatchObject({ code: 'frame-name-taken' });
      expect(await store.completeShoot('nothing')).toBeNull();
    });

    it('holds no more frames than allowed', async () => {
      await add({ name: '1.jpg', maxFrames: 2 });
      await add({ name: '2.jpg', maxFrames: 2 });
      await expect(add({ name: '3.jpg', maxFrames: 2 })).rejects.toMatchObject({ code: 'too-many-frames' });
      expect(await add({ name: '2.jpg', maxFrames: 2 })).toMatchObject({ created: false });
    });

    it('moves a frame through its states once, whatever is repeated', async () => {
      await add({ name: 'x.jpg' });
      expect(await store.claimFrame(shootId, 'x.jpg')).toBe(true);
      expect(await store.claimFrame(shootId, 'x.jpg')).toBe(false);
      expect(await store.storeMeasurement(shootId, 'x.jpg', measurement)).toBe(true);
      expect(await store.storeMeasurement(shootId, 'x.jpg', measurement)).toBe(false);
      expect(await store.storeFailure(shootId, 'x.jpg', { code: 'frame-corrupt', message: 'late' })).toBe(false);
      expect(await store.claimFrame(shootId, 'x.jpg')).toBe(false);
      const frame = await store.getFrame(shootId, 'x.jpg');
      expect(frame).toMatchObject({ state: 'measured', attempts: 1, failure: null });
      expect(frame?.measurement).toEqual(measurement);
    });

    it('keeps why a frame failed', async () => {
      await add({ name: 'x.jpg' });
      await store.claimFrame(shootId, 'x.jpg');
      const failure = { code: 'frame-truncated' as const, message: 'ends at byte 12' };
      expect(await store.storeFailure(shootId, 'x.jpg', failure)).toBe(true);
      expect(await store.getFrame(shootId, 'x.jpg')).toMatchObject({ state: 'failed', failure, measurement: null });
    });

    it('gives back a frame that was handed back without counting the attempt', async () => {
      await add({ name: 'x.jpg' });
      await store.claimFrame(shootId, 'x.jpg');
      expect(await store.releaseFrame(shootId, 'x.jpg')).toBe(true);
      expect(await store.releaseFrame(shootId, 'x.jpg')).toBe(false);
      expect(await store.getFrameRecord(shootId, 'x.jpg')).toMatchObject({ state: 'received', attempts: 0 });
    });

    it('puts everything unfinished back at the start, and fails what was tried often enough', async () => {
      for (const frame of ['waiting', 'cut', 'cut often', 'done']) await add({ name: frame });
      await store.claimFrame(shootId, 'cut');
      await store.claimFrame(shootId, 'done');
      await store.storeMeasurement(shootId, 'done', measurement);
      for (let start = 0; start < 2; start += 1) {
        await store.claimFrame(shootId, 'cut often');
        await store.close();
        store = await records.open();
        const again = (await store.requeueUnfinished(2)).filter((frame) => frame.shootId === shootId);
        const expected = start === 0 ? ['cut', 'cut often', 'waiting'] : ['cut', 'waiting'];
        expect(again.map((frame) => frame.name).sort()).toEqual(expected);
      }
      expect(await stateOf('cut')).toBe('received');
      expect(await stateOf('done')).toBe('measured');
      expect(await store.getFrame(shootId, 'cut often')).toMatchObject({
        state: 'failed',
        failure: { code: 'frame-process-died' },
      });
    });

    it('lists what has no outcome, of all shoots, a page at a time and in order of coming', async () => {
      for (const name of ['a', 'b', 'c', 'd', 'e']) await add({ name });
      await store.claimFrame(shootId, 'b');
      await store.storeMeasurement(shootId, 'c', measurement);
      await store.storeFailure(shootId, 'd', { code: 'frame-corrupt', message: 'made for a test' });
      const other = await store.createShoot({
        id: `${shootId}-other`,
        name: 'other',
        plan: ShootPlan.parse({}),
        studio: 'north',
      });
      await store.addFrame({ shootId: other.id, name: 'a', sha256: A, bytes: 1, maxFrames: 10 });
      const listed: string[] = [];
      let last: FrameRecord | null = null;
      for (;;) {
        const page: FrameRecord[] = await store.listUnfinished(last, 2);
        expect(page.length).toBeLessThanOrEqual(2);
        // Others' shoots may lie in the same database.
        for (const frame of page) if (frame.shootId.startsWith(shootId)) listed.push(`${frame.shootId} ${frame.name} ${frame.state}`); // prettier-ignore
        last = page.at(-1) ?? null;
        if (last === null) break;
      }
      expect(listed).toEqual([
        `${shootId} a received`,
        `${shootId} b measuring`,
        `${shootId} e received`,
        `${other.id} a received`,
      ]);
    });

    it('raises the version with every change, and only then', async () => {
      const version = async () => (await store.getShoot(shootId))?.version ?? NaN;
      const steps: [string, () => Promise<unknown>, boolean][] = [
        ['add', () => add({ name: 'x.jpg' }), true],
        ['add again', () => add({ name: 'x.jpg' }), false],
        ['claim', () => store.claimFrame(shootId, 'x.jpg'), true],
        ['claim again', () => store.claimFrame(shootId, 'x.jpg'), false],
        ['measured', () => store.storeMeasurement(shootId, 'x.jpg', measurement), true],
        ['measured again', () => store.storeMeasurement(shootId, 'x.jpg', measurement), false],
        ['complete', () => store.completeShoot(shootId), true],
        ['complete again', () => store.completeShoot(shootId), false],
      ];
      for (const [step, act, rises] of steps) {
        const before = await version();
        await act();
        expect((await version()) > before, step).toBe(rises);
      }
    });

    it('lists frames in the order in which they came', async () => {
      // Two that arrive in the same millisecond stand in the order of their names.
      for (const frame of ['1.jpg', '2.jpg', '3.jpg']) await add({ name: frame });
      expect((await store.listFrames(shootId)).map((frame) => frame.name)).toEqual(['1.jpg', '2.jpg', '3.jpg']);
      expect(await store.listFrames('nothing')).toEqual([]);
    });

    it('lists every frame of a large shoot once', async () => {
      const names = Array.from({ length: 450 }, (_, index) => `${index}.jpg`);
      await Promise.all(names.map((frame) => add({ name: frame })));
      expect((await store.listFrames(shootId)).map((frame) => frame.name).sort()).toEqual(names.sort());
    });

    it('forgets a deleted shoot wholly, and takes nothing for it any more', async () => {
      await add({ name: 'x.jpg' });
      await store.claimFrame(shootId, 'x.jpg');
      expect(await store.deleteShoot(shootId)).toBe(true);
      expect(await store.deleteShoot(shootId)).toBe(false);
      expect(await store.getShoot(shootId)).toBeNull();
      expect(await store.getFrame(shootId, 'x.jpg')).toBeNull();
      expect(await store.storeMeasurement(shootId, 'x.jpg', measurement)).toBe(false);
      await expect(add({ name: 'y.jpg' })).rejects.toMatchObject({ code: 'shoot-not-found' });
      expect(await store.requeueUnfinished(3)).toEqual([]);
      expect(await store.progress(shootId)).toMatchObject({ total: 0 });
    });
  });
}
