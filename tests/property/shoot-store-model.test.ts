import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FrameState } from '../../src/contracts/api.js';
import type { FrameFailure } from '../../src/contracts/jobs.js';
import { ShootPlan } from '../../src/contracts/plan.js';
import { StopledgerError } from '../../src/errors.js';
import { openSqliteStore } from '../../src/store/open-sqlite.js';
import type { ShootStore } from '../../src/store/port.js';
import { openPostgresStore } from '../../src/store/postgres/open-postgres.js';
import { fakeMeasurement } from '../support/measurement.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, postgresForFile } from '../support/postgres-server.js';
import { temporaryFolder } from '../support/temporary-folder.js';

/** What the store has to be like, as simply as it can be said. */
interface ModelFrame {
  sha256: string;
  state: FrameState;
  attempts: number;
}
interface ModelShoot {
  completed: boolean;
  version: number;
  frames: Map<string, ModelFrame>;
}
type Model = Map<string, ModelShoot>;

interface Real {
  /** Opens the records again, after they were closed. */
  open: () => Promise<ShootStore>;
  store: ShootStore;
}

const SHOOTS = ['shoot-a', 'shoot-b'];
const NAMES = ['1.jpg', '2.jpg', '3.jpg', '4.jpg'];
const DIGESTS = ['a'.repeat(64), 'b'.repeat(64)];
const MOST_FRAMES = 3;
const MOST_ATTEMPTS = 2;
const FAILURE: FrameFailure = { code: 'frame-corrupt', message: 'x' };

const codeOf = async (work: Promise<unknown>): Promise<string> =>
  work.then(
    () => 'fine',
    (error: unknown) => (error instanceof StopledgerError ? error.code : String(error)),
  );

type Step = (model: Model, real: Real) => Promise<void>;
const command = (told: string, step: Step): fc.AsyncCommand<Model, Real> => ({
  check: () => true,
  run: step,
  toString: () => told,
});

/** A move out of one of the states `from`; nothing, and false, from any other. */
const moving = (
  what: string,
  from: FrameState[],
  to: FrameState,
  attemptsBy: number,
  move: (store: ShootStore, shoot: string, name: string) => Promise<boolean>,
) =>
  fc.tuple(fc.constantFrom(...SHOOTS), fc.constantFrom(...NAMES)).map(([id, name]) =>
    command(`${what} ${id} ${name}`, async (model, { store }) => {
      const shoot = model.get(id);
      const frame = shoot?.frames.get(name);
      const moves = shoot !== undefined && frame !== undefined && from.includes(frame.state);
      expect(await move(store, id, name)).toBe(moves);
      if (!moves) return;
      frame.state = to;
      frame.attempts += attemptsBy;
      shoot.version += 1;
    }),
  );

const restart = fc.constant(
  command('end and start again', async (model, real) => {
    await real.store.close();
    real.store = await real.open();
    const again = await real.store.requeueUnfinished(MOST_ATTEMPTS);
    for (const shoot of model.values()) {
      for (const frame of shoot.frames.values()) {
        if (frame.state !== 'measuring') continue;
        frame.state = frame.attempts < MOST_ATTEMPTS ? 'received' : 'failed';
        shoot.version += 1;
      }
    }
    const waiting = [...model].flatMap(([id, { frames }]) =>
      [...frames].filter(([, { state }]) => state === 'received').map(([name]) => `${id} ${name}`),
    );
    expect(again.map(({ shootId, name }) => `${shootId} ${name}`).sort()).toEqual(waiting.sort());
  }),
);

const claim = moving('claim', ['received'], 'measuring', 1, (store, id, name) => store.claimFrame(id, name));

const shootIds = fc.constantFrom(...SHOOTS);
const commands = [
  shootIds.map((id) =>
    command(`create ${id}`, async (model, { store }) => {
      if (model.has(id)) return;
      await store.createShoot({ id, name: id, plan: ShootPlan.parse({}), studio: null });
      model.set(id, { completed: false, version: 1, frames: new Map() });
    }),
  ),
  fc.tuple(shootIds, fc.constantFrom(...NAMES), fc.constantFrom(...DIGESTS)).map(([id, name, sha256]) =>
    command(`add ${id} ${name} ${sha256.charAt(0)}`, async (model, { store }) => {
      const shoot = model.get(id);
      const here = shoot?.frames.get(name);
      const expected =
        here !== undefined
          ? here.sha256 === sha256
            ? 'fine'
            : 'frame-name-taken'
          : shoot === undefined
            ? 'shoot-not-found'
            : shoot.completed
              ? 'shoot-complete'
              : shoot.frames.size >= MOST_FRAMES
                ? 'too-many-frames'
                : 'fine';
      expect(await codeOf(store.addFrame({ shootId: id, name, sha256, bytes: 5, maxFrames: MOST_FRAMES }))).toBe(expected); // prettier-ignore
      if (expected !== 'fine' || here !== undefined || shoot === undefined) return;
      shoot.frames.set(name, { sha256, state: 'received', attempts: 0 });
      shoot.version += 1;
    }),
  ),
  // Often, so that a frame is cut short as often as it may be.
  claim,
  claim,
  claim,
  restart,
  moving('release', ['measuring'], 'received', -1, (store, id, name) => store.releaseFrame(id, name)),
  moving('measure', ['received', 'measuring'], 'measured', 0, (store, id, name) =>
    store.storeMeasurement(id, name, fakeMeasurement()),
  ),
  moving('fail', ['received', 'measuring'], 'failed', 0, (store, id, name) => store.storeFailure(id, name, FAILURE)),
  shootIds.map((id) =>
    command(`complete ${id}`, async (model, { store }) => {
      const shoot = model.get(id);
      expect((await store.completeShoot(id)) !== null).toBe(shoot !== undefined);
      if (shoot === undefined || shoot.completed) return;
      shoot.completed = true;
      shoot.version += 1;
    }),
  ),
  shootIds.map((id) =>
    command(`delete ${id}`, async (model, { store }) => {
      expect(await store.deleteShoot(id)).toBe(model.delete(id));
      await store.removalDone(id);
    }),
  ),
  restart,
];

async function sameAs(model: Model, { store }: Real): Promise<void> {
  const states = (frames: Iterable<{ state: FrameState }>, state: FrameState): number =>
    [...frames].filter((frame) => frame.state === state).length;
  expect((await store.listShoots()).map(({ id }) => id).sort()).toEqual([...model.keys()].sort());
  for (const [id, shoot] of model) {
    const here = await store.getShoot(id);
    expect({ completed: here?.completedAt !== null, version: here?.version }).toEqual({ completed: shoot.completed, version: shoot.version }); // prettier-ignore
    const frames = await store.listFrames(id);
    expect(new Map(frames.map(({ name, sha256, state, attempts }) => [name, { sha256, state, attempts }]))).toEqual(shoot.frames); // prettier-ignore
    for (const frame of frames) {
      expect(frame.measurement !== null, `${frame.name} ${frame.state}`).toBe(frame.state === 'measured');
      expect(frame.failure !== null, `${frame.name} ${frame.state}`).toBe(frame.state === 'failed');
    }
    const all = [...shoot.frames.values()];
    expect(await store.progress(id)).toEqual({
      received: states(all, 'received'),
      measuring: states(all, 'measuring'),
      measured: states(all, 'measured'),
      failed: states(all, 'failed'),
      total: all.length,
    });
  }
  const unfinished = await store.listUnfinished(null, 100);
  const all = [...model.values()].flatMap(({ frames }) => [...frames.values()]);
  expect(unfinished).toHaveLength(states(all, 'received') + states(all, 'measuring'));
}

async function areAsModelled(place: () => Promise<() => Promise<ShootStore>>, numRuns: number): Promise<void> {
  await fc.assert(
    fc.asyncProperty(fc.commands(commands, { maxCommands: 60, size: 'max' }), async (steps) => {
      const open = await place();
      const real: Real = { open, store: await open() };
      const model: Model = new Map();
      for (const id of SHOOTS) {
        await real.store.createShoot({ id, name: id, plan: ShootPlan.parse({}), studio: null });
        model.set(id, { completed: false, version: 1, frames: new Map() });
      }
      try {
        await fc.asyncModelRun(() => ({ model, real }), steps);
        await sameAs(model, real);
      } finally {
        await real.store.close();
      }
    }),
    { numRuns, seed: 7 },
  );
}

describe('the shoot records, whatever is done to them in whatever order, are what the model of them is', () => {
  it('in SQLite', () =>
    areAsModelled(() => {
      const folder = temporaryFolder();
      return Promise.resolve(() => openSqliteStore(folder));
    }, 25));

  describe.skipIf(!POSTGRES_INSTALLED)(`over PostgreSQL${POSTGRES_NOTE}`, () => {
    const server = postgresForFile();
    it('in PostgreSQL', () =>
      areAsModelled(async () => {
        const url = await server().newDatabase();
        return () => openPostgresStore({ url, onTrouble: () => undefined });
      }, 4));
  });
});
