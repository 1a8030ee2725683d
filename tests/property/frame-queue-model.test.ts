import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import type { MeasureJob } from '../../src/contracts/jobs.js';
import { openBullmqQueue } from '../../src/queue/bullmq-queue.js';
import { openFrameWorker } from '../../src/queue/bullmq-worker.js';
import { createEmbeddedQueue } from '../../src/queue/embedded-queue.js';
import { localFrameSource } from '../../src/queue/frame-source.js';
import type { FrameQueue, FrameQueueEvents } from '../../src/queue/port.js';
import { HeldPool, Noticed } from '../support/held-pool.js';
import { REDIS_INSTALLED, REDIS_NOTE, newPrefix, redisForFile } from '../support/redis-server.js';

const WORKERS = 2;
const SHOOTS = ['shoot-a', 'shoot-b', 'shoot-c'];
const FRAMES = ['1.jpg', '2.jpg', '3.jpg'];
const OPTIONS = MeasuringOptions.parse({});

const localPath = (shootId: string, sha256: string): string => `${shootId}/${sha256}`;
const jobOf = (shootId: string, frameName: string): MeasureJob => ({
  shootId,
  frameName,
  sha256: createHash('sha256').update(`${shootId} ${frameName}`).digest('hex'),
  options: OPTIONS,
});
const pathOf = ({ shootId, sha256 }: MeasureJob): string => localPath(shootId, sha256);

/** What a queue has to be like: which frames are in its hands, and how many outcomes of each were told. */
interface Model {
  inHand: Set<string>;
  /** Of shoots that were dropped while these were being measured. */
  dropped: Set<string>;
  gone: Set<string>;
  outcomes: Map<string, string[]>;
}

interface Real {
  queue: FrameQueue;
  pool: HeldPool;
  noticed: Noticed;
  outcomes: Map<string, string[]>;
  refuseNext: boolean;
}

/** The queue has taken up as many frames as it has processes for. */
async function settled(model: Model, { pool, noticed }: Real): Promise<void> {
  const most = Math.min(WORKERS, model.inHand.size + model.dropped.size);
  await noticed.until(() => pool.held.length >= most);
  expect(pool.held).toHaveLength(most);
}

/** The process that has worked longest answers; of a dropped shoot's frame nobody is told. */
async function endOldest(model: Model, real: Real, outcome: 'measured' | 'frame-corrupt'): Promise<void> {
  await settled(model, real);
  const path = real.pool.held[0]?.path;
  if (path === undefined) return;
  real.pool.end(path, outcome);
  if (!model.dropped.delete(path)) {
    model.inHand.delete(path);
    const told = [...(model.outcomes.get(path) ?? []), outcome];
    model.outcomes.set(path, told);
    await real.noticed.until(() => (real.outcomes.get(path)?.length ?? 0) >= told.length);
  }
  // Told is not yet forgotten: only then may the frame be added anew.
  await until(async () => {
    const { waiting, running } = await real.queue.counts();
    return waiting + running === model.inHand.size + model.dropped.size;
  });
}

async function until(enough: () => Promise<boolean>): Promise<void> {
  while (!(await enough())) await new Promise((resolve) => setImmediate(resolve));
}

type Step = (model: Model, real: Real) => Promise<void>;
const command = (told: string, step: Step, check: (model: Model) => boolean = () => true) =>
  ({ check, run: step, toString: () => told }) satisfies fc.AsyncCommand<Model, Real>;

const add = fc.tuple(fc.constantFrom(...SHOOTS), fc.constantFrom(...FRAMES)).map(([shoot, frame]) =>
  command(
    `add ${shoot} ${frame}`,
    async (model, { queue }) => {
      const job = jobOf(shoot, frame);
      await queue.add(job);
      model.inHand.add(pathOf(job));
    },
    ({ gone }) => !gone.has(shoot),
  ),
);
const end = fc
  .constantFrom('measured' as const, 'frame-corrupt' as const)
  .map((outcome) => command(`end as ${outcome}`, (model, real) => endOldest(model, real, outcome)));
const refuse = fc.constant(
  command('the next outcome is not taken at first', async (_, real) => {
    real.refuseNext = true;
  }),
);
const drop = fc.constantFrom(...SHOOTS).map((shoot) =>
  command(`drop ${shoot}`, async (model, real) => {
    await settled(model, real);
    const running = new Set(real.pool.held.map(({ path }) => path));
    await real.queue.dropShoot(shoot);
    model.gone.add(shoot);
    for (const path of [...model.inHand].filter((one) => one.startsWith(`${shoot}/`))) {
      model.inHand.delete(path);
      if (running.has(path)) model.dropped.add(path);
    }
  }),
);
const commands = [add, add, add, end, end, refuse, drop];

async function isAsModelled(open: (pool: HeldPool) => Promise<FrameQueue>, numRuns: number): Promise<void> {
  await fc.assert(
    fc.asyncProperty(fc.commands(commands, { maxCommands: 40, size: 'max' }), async (steps) => {
      const noticed = new Noticed();
      const pool = new HeldPool(WORKERS, noticed);
      const real: Real = { queue: await open(pool), pool, noticed, outcomes: new Map(), refuseNext: false };
      const model: Model = { inHand: new Set(), dropped: new Set(), gone: new Set(), outcomes: new Map() };
      const events: FrameQueueEvents = {
        onStarted: () => undefined,
        onReleased: () => undefined,
        onOutcome(outcome) {
          if (real.refuseNext) {
            real.refuseNext = false;
            throw new Error('the disk is full');
          }
          const path = pathOf(outcome.job);
          const told = outcome.ok ? 'measured' : outcome.failure.code;
          real.outcomes.set(path, [...(real.outcomes.get(path) ?? []), told]);
          noticed.now();
        },
      };
      try {
        await real.queue.start(events);
        await fc.asyncModelRun(() => ({ model, real }), steps);
        while (model.inHand.size + model.dropped.size > 0) await endOldest(model, real, 'measured');
        expect(real.outcomes).toEqual(model.outcomes);
        expect(await real.queue.counts()).toEqual({ waiting: 0, running: 0 });
        expect(pool.twiceAtOnce).toEqual([]);
      } finally {
        await real.queue.close(0);
      }
    }),
    { numRuns, seed: 11 },
  );
}

describe('a frame queue, whatever comes in whatever order, tells each outcome once and nothing of what was dropped', () => {
  it('embedded', () =>
    isAsModelled(async (pool) => {
      const redeliverMs = [1, 1] as const;
      return createEmbeddedQueue({ pool, localPath, onHandlerError: () => undefined, redeliverMs });
    }, 60));

  describe.skipIf(!REDIS_INSTALLED)(`over Redis${REDIS_NOTE}`, () => {
    const redis = redisForFile();
    it('BullMQ', () =>
      isAsModelled(async (pool) => {
        const link = { url: redis().url, prefix: newPrefix(), onTrouble: () => undefined };
        const source = localFrameSource(localPath);
        const worker = await openFrameWorker({ link, pool, source, timeLimitSeconds: 60, maxDeaths: 3, worker: 'test', versions: {} }); // prettier-ignore
        const nothing = async function* (): AsyncGenerator<never> {};
        return openBullmqQueue({
          link,
          maxAttempts: 1,
          unfinished: nothing,
          isPending: () => Promise.resolve(true),
          onHandlerError: () => undefined,
          worker,
          sweepMs: 10,
          backoffMs: 0,
        });
      }, 8));
  });
});
