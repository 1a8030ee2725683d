import { Tinypool } from 'tinypool';
import type { PoolAnswer, PoolRequest, WarmRequest } from '../../worker/pool-process.js';
import { StopledgerError } from '../errors.js';

export interface SlotOptions {
  /** Module whose default export answers a `PoolRequest`. */
  entry: string;
  execArgv: string[];
  env: Record<string, string>;
}

/**
 * One measuring process and its replacement. Each slot is a pool of exactly one child: in a larger pool a child
 * that ends while it is starting keeps every later child from being replaced, and a pool cannot be mended once
 * that happened. Here the whole pool of one is thrown away after any mishap and the next frame starts a new one.
 */
export class MeasuringSlot {
  readonly #options: SlotOptions;
  #pool: Tinypool | null = null;
  readonly #ending = new Set<Promise<void>>();

  constructor(options: SlotOptions) {
    this.#options = options;
  }

  /** Starts the process and has it load its models, so that the first frame does not wait for them. */
  warm(): void {
    const pool = (this.#pool ??= this.#start());
    const request: WarmRequest = { task: 'warm' };
    // An answer is a failure: the process would fail every frame as well. The next one then says why.
    const spoilt = (answer: unknown): void => {
      if (answer !== null) this.#abandon(pool);
    };
    void pool.run(request).then(spoilt, () => undefined);
  }

  /**
   * Measures one frame. Throws `frame-timed-out` after `timeLimitMs` (the process is killed), `frame-process-died`,
   * what the process answered, or the reason of `signal`.
   */
  async run(request: PoolRequest, timeLimitMs: number, signal?: AbortSignal): Promise<PoolAnswer> {
    signal?.throwIfAborted();
    this.#pool ??= this.#start();
    const pool = this.#pool;
    const stop = new AbortController();
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      stop.abort();
    }, timeLimitMs);
    const onAbort = (): void => {
      stop.abort();
    };
    signal?.addEventListener('abort', onAbort, { once: true });
    try {
      const answer = (await pool.run(request, { signal: stop.signal })) as PoolAnswer;
      // What the process itself does not know may have spoiled it: the next frame, or attempt, gets a new one.
      if (!answer.ok && answer.failure.code === 'internal') this.#abandon(pool);
      return answer;
    } catch (error) {
      this.#abandon(pool);
      signal?.throwIfAborted();
      if (late) throw new StopledgerError('frame-timed-out', `measuring did not end within ${timeLimitMs / 1000} s`);
      const reason = error instanceof Error ? error.message : String(error);
      throw new StopledgerError('frame-process-died', `the measuring process ended: ${reason}`, { cause: error });
    } finally {
      clearTimeout(timer);
      signal?.removeEventListener('abort', onAbort);
    }
  }

  /** Ends the process, whatever it is doing. */
  async close(): Promise<void> {
    if (this.#pool !== null) this.#abandon(this.#pool);
    await Promise.all(this.#ending);
  }

  #start(): Tinypool {
    const { entry, execArgv, env } = this.#options;
    const pool = new Tinypool({
      runtime: 'child_process',
      filename: entry,
      execArgv,
      env,
      serialization: 'advanced',
      minThreads: 1,
      maxThreads: 1,
    });
    // A child that ends while it has nothing to do.
    pool.on('error', () => {
      this.#abandon(pool);
    });
    return pool;
  }

  #abandon(pool: Tinypool): void {
    if (this.#pool === pool) this.#pool = null;
    const ending = pool.destroy().catch(() => undefined);
    this.#ending.add(ending);
    void ending.then(() => this.#ending.delete(ending));
  }
}
