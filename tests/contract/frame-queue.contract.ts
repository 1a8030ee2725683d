import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { MeasuringOptions } from '../../src/contracts/options.js';
import type { MeasureJob } from '../../src/contracts/jobs.js';
import type { FrameQueue, FrameQueueEvents, MeasureOutcome } from '../../src/queue/port.js';

/** A queue under test whose frames are texts that tell the fixture process what to do; see its source. */
export interface QueueUnderTest {
  queue: FrameQueue;
  workers: number;
  maxAttempts: number;
  /** Stores a text as a frame's bytes and says their SHA-256. */
  putFrame(shootId: string, text: string): Promise<string>;
  /** A path in a folder of the test's own. */
  path(name: string): string;
  touch(path: string): void;
}

const OPTIONS = MeasuringOptions.parse({});

/** What every frame queue must do, run on each of them. Made with one measuring process unless asked for more. */
export function frameQueueContract(name: string, make: (workers: number) => Promise<QueueUnderTest>): void {
  describe(`frame queue: ${name}`, () => {
    let under: QueueUnderTest;
    let started: string[];
    let released: string[];
    let outcomes: MeasureOutcome[];
    let waiters: { enough: () => boolean; resolve: () => void }[];

    const noted = (): void => {
      for (const waiter of waiters) if (waiter.enough()) waiter.resolve();
    };
    const until = (enough: () => boolean): Promise<void> =>
      new Promise((resolve) => {
        waiters.push({ enough, resolve });
        noted();
      });
    const events: FrameQueueEvents = {
      onStarted(job) {
        started.push(job.frameName);
        noted();
      },
      onOutcome(outcome) {
        outcomes.push(outcome);
        noted();
      },
      onReleased(job) {
        released.push(job.frameName);
        noted();
      },
    };
    const job = async (shootId: string, frameName: string, text: string): Promise<MeasureJob> => ({
      shootId,
      frameName,
      sha256: await under.putFrame(shootId, text),
      options: OPTIONS,
    });
    const use = async (workers: number): Promise<void> => {
      under = await make(workers);
    };

    beforeEach(async () => {
      started = [];
      released = [];
      outcomes = [];
      waiters = [];
      await use(1);
    });
    afterEach(() => under.queue.close(0));

    it('measures what is added, before and after it is started', async () => {
      await under.queue.add(await job('s', 'before', 'measure 1'));
      await under.queue.start(events);
      await under.queue.add(await job('s', 'after', 'measure 2'));
      await until(() => outcomes.length === 2);
      expect(outcomes.map((outcome) => [outcome.job.frameName, outcome.ok, outcome.attempts])).toEqual([
        ['before', true, 1],
        ['after', true, 1],
      ]);
      expect(started).toEqual(['before', 'after']);
    });

    it('does not add a job that waits or runs already', async () => {
      const gate = under.path('gate');
      const running = await job('s', 'running', `wait-for ${gate}`);
      const waiting = await job('s', 'waiting', 'measure');
      await under.queue.start(events);
      await under.queue.add(running);
      await until(() => started.includes('running'));
      await under.queue.add(waiting);
      await under.queue.add(waiting);
      await under.queue.add(running);
      expect(await under.queue.counts()).toEqual({ waiting: 1, running: 1 });
      under.touch(gate);
      await until(() => outcomes.length === 2);
      expect(await Promise.all([under.queue.counts(), Promise.resolve(started)])).toMatchObject([{ waiting: 0 }, ['running', 'waiting']]); // prettier-ignore
    });

    it('tells a frame’s own fault at once and a dead process after the last attempt', async () => {
      await under.queue.start(events);
      await under.queue.add(await job('s', 'corrupt', 'refuse frame-corrupt'));
      await under.queue.add(await job('s', 'deadly', 'die'));
      await under.queue.add(await job('s', 'fine', 'measure'));
      await until(() => outcomes.length === 3);
      expect(outcomes.map((outcome) => (outcome.ok ? 'measured' : outcome.failure.code))).toEqual([
        'frame-corrupt',
        'frame-process-died',
        'measured',
      ]);
      expect(outcomes.map(({ attempts }) => attempts)).toEqual([1, under.maxAttempts, 1]);
    });

    it('fails a frame whose file is not there', async () => {
      await under.queue.start(events);
      await under.queue.add({ shootId: 's', frameName: 'x', sha256: 'f'.repeat(64), options: OPTIONS });
      await until(() => outcomes.length === 1);
      expect(outcomes[0]).toMatchObject({ ok: false });
    });

    it('serves shoots in turn', async () => {
      const gate = under.path('gate');
      const first = await job('large', 'large 0', `wait-for ${gate}`);
      await under.queue.start(events);
      await under.queue.add(first);
      await until(() => started.length === 1);
      for (const number of [1, 2, 3]) await under.queue.add(await job('large', `large ${number}`, `measure ${number}`));
      for (const number of [1, 2]) await under.queue.add(await job('small', `small ${number}`, `measure ${number}`));
      under.touch(gate);
      await until(() => outcomes.length === 6);
      expect(started).toEqual(['large 0', 'large 1', 'small 1', 'large 2', 'small 2', 'large 3']);
    });

    it('lets a small shoot behind a large one wait for as many frames as it has itself', async () => {
      const gate = under.path('gate');
      await under.queue.start(events);
      await under.queue.add(await job('large', 'large 0', `wait-for ${gate}`));
      await until(() => started.length === 1);
      for (let number = 1; number <= 60; number += 1) {
        await under.queue.add(await job('large', `large ${number}`, `measure ${number}`));
      }
      for (const number of [1, 2, 3]) await under.queue.add(await job('small', `small ${number}`, `measure ${number}`));
      under.touch(gate);
      await until(() => started.includes('small 3'));
      expect(started.filter((name) => name.startsWith('large')).length).toBeLessThanOrEqual(1 + 3);
    });

    it('uses all its processes at once', async () => {
      await under.queue.close(0);
      await use(2);
      await under.queue.start(events);
      const gate = under.path('gate');
      await under.queue.add(await job('s', 'a', `wait-for ${gate}`));
      await under.queue.add(await job('s', 'b', `wait-for ${gate} b`));
      await until(() => started.length === 2);
      expect(await under.queue.counts()).toEqual({ waiting: 0, running: 2 });
      under.touch(gate);
      await until(() => outcomes.length === 2);
    });

    it('delivers an outcome again until it is taken, and holds up nothing else', async () => {
      let refusals = 2;
      await under.queue.start({
        ...events,
        onOutcome(outcome) {
          if (outcome.job.frameName === 'x' && refusals > 0) {
            refusals -= 1;
            throw new Error('the disk is full');
          }
          return events.onOutcome(outcome);
        },
      });
      await under.queue.add(await job('s', 'x', 'measure 1'));
      await under.queue.add(await job('s', 'y', 'measure 2'));
      await until(() => outcomes.length === 2);
      expect(refusals).toBe(0);
      expect(outcomes.map(({ ok }) => ok)).toEqual([true, true]);
    });

    it('forgets a dropped shoot, waiting and running', async () => {
      const gate = under.path('gate');
      const running = await job('gone', 'running', `wait-for ${gate}`);
      await under.queue.start(events);
      await under.queue.add(running);
      await until(() => started.length === 1);
      await under.queue.add(await job('gone', 'waiting', 'measure'));
      await under.queue.add(await job('stays', 'x', 'measure'));
      await under.queue.dropShoot('gone');
      under.touch(gate);
      await until(() => outcomes.length === 1);
      expect(outcomes.map((outcome) => outcome.job.frameName)).toEqual(['x']);
      expect(started).not.toContain('waiting');
    });

    it('ends what runs before it closes', async () => {
      const gate = under.path('gate');
      await under.queue.start(events);
      await under.queue.add(await job('s', 'running', `wait-for ${gate}`));
      await until(() => started.length === 1);
      await under.queue.add(await job('s', 'waiting', 'measure'));
      const closed = under.queue.close(60_000);
      under.touch(gate);
      await closed;
      expect(outcomes.map((outcome) => outcome.job.frameName)).toEqual(['running']);
      expect(released).toEqual([]);
    });

    it('hands back what does not end in time', async () => {
      await under.queue.start(events);
      await under.queue.add(await job('s', 'hung', 'hang'));
      await until(() => started.length === 1);
      await under.queue.close(0);
      expect(released).toEqual(['hung']);
      expect(outcomes).toEqual([]);
    });
  });
}
