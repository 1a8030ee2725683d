import { setMaxListeners } from 'node:events';
import { createRequire } from 'node:module';
import { extname } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { FrameSamples } from '../contracts/calibration.js';
import type { MeasuredFrame } from '../contracts/jobs.js';
import type { MeasuringOptions } from '../contracts/options.js';
import type { PoolRequest } from '../../worker/pool-process.js';
import { StopledgerError } from '../errors.js';
import { MeasuringSlot } from './measuring-slot.js';
import { restrictedRights } from './process-rights.js';

export interface MeasuringPoolOptions {
  /** Number of processes, >= 1. */
  workers: number;
  timeLimitSeconds: number;
  /** How often a frame is tried when its process hangs, dies or fails in a way that trying again may mend. */
  maxAttempts: number;
  /** Another module to run in the processes (tests): its default export answers a `PoolRequest`. */
  entry?: URL;
}

export interface FrameRequest {
  /** The frame's file on this machine. */
  path: string;
  signal?: AbortSignal;
  /** The SHA-256 that the file must have; not checked when left out. */
  sha256?: string;
  /** Called before each attempt with its number, from 1. */
  onAttempt?: (attempt: number) => void;
}

export interface MeasureRequest extends FrameRequest {
  options: MeasuringOptions;
}

export interface SampleRequest extends FrameRequest {
  maxPixels: number;
}

export interface MeasuringPool {
  readonly workers: number;
  /** Starts all processes now instead of with the first frames. */
  warm(): void;
  /**
   * Measures a file in a process of its own, waiting for a free one, in order of asking. Throws StopledgerError
   * with the frame's own code (`frame-corrupt` and its like are final at once), `frame-timed-out` or
   * `frame-process-died` after the last attempt, or the reason of `signal`.
   */
  measure(request: MeasureRequest): Promise<MeasuredFrame>;
  /** Reduces a frame of a bracket for calibration; waits and throws as `measure` does. */
  sample(request: SampleRequest): Promise<FrameSamples>;
  /** Ends every process at once; what runs is rejected. */
  close(): Promise<void>;
}

const sourceFile = fileURLToPath(import.meta.url);
/** `.ts` when run from source, `.js` when built. */
const suffix = extname(sourceFile);
const STANDARD_ENTRY = new URL(`../../worker/pool-process${suffix}`, import.meta.url);

/** Children run TypeScript only where this very file is TypeScript. */
function execArgvFor(entry: string): string[] {
  if (extname(entry) !== '.ts') return [];
  const loader = createRequire(import.meta.url).resolve('tsx');
  return ['--import', pathToFileURL(loader).href];
}

/** Variables of the machine, not of the service: no token or address of ours reaches a measuring process. */
const PASSED_ON = ['PATH', 'HOME', 'TMPDIR', 'TEMP', 'TMP', 'LANG', 'LC_ALL', 'TZ', 'SystemRoot'];

function childEnvironment(): Record<string, string> {
  const env: Record<string, string> = {
    // Decoders ask for tens of megabytes at a time: on huge pages that costs a third of the time, and from one arena, not
    // one a thread, what one thread gave back serves the next.
    GLIBC_TUNABLES: 'glibc.malloc.hugetlb=1:glibc.malloc.arena_max=1',
    // One process per core: more threads inside would only contend.
    VIPS_CONCURRENCY: '1',
  };
  for (const name of PASSED_ON) {
    const value = process.env[name];
    if (value !== undefined) env[name] = value;
  }
  return env;
}

/** Makes a pool of measuring processes; see `MeasuringPool`. No process is started before it is needed. */
export function createMeasuringPool(options: MeasuringPoolOptions): MeasuringPool {
  const { workers, timeLimitSeconds, maxAttempts } = options;
  if (!Number.isInteger(workers) || workers < 1) {
    throw new StopledgerError('bad-configuration', `workers: a whole number from 1 expected, received ${workers}`);
  }
  const entry = fileURLToPath(options.entry ?? STANDARD_ENTRY);
  const slotOptions = { entry, execArgv: [...execArgvFor(entry), ...restrictedRights(entry)], env: childEnvironment() };
  const slots = Array.from({ length: workers }, () => new MeasuringSlot(slotOptions));
  const free = [...slots];
  const waiting: ((slot: MeasuringSlot) => void)[] = [];
  /** One for each frame in hand: `AbortSignal.any` with a signal of the pool keeps something of each for ever (Node 20). */
  const inHand = new Set<AbortController>();
  let closed: StopledgerError | null = null;

  const takeSlot = (signal: AbortSignal): Promise<MeasuringSlot> => {
    const slot = free.pop();
    if (slot !== undefined) return Promise.resolve(slot);
    return new Promise((resolve, reject) => {
      const onAbort = (): void => {
        waiting.splice(waiting.indexOf(taken), 1);
        reject(signal.reason as Error);
      };
      const taken = (given: MeasuringSlot): void => {
        signal.removeEventListener('abort', onAbort);
        resolve(given);
      };
      signal.addEventListener('abort', onAbort, { once: true });
      waiting.push(taken);
    });
  };
  const giveBack = (slot: MeasuringSlot): void => {
    const next = waiting.shift();
    if (next === undefined) free.push(slot);
    else next(slot);
  };

  /** One answer of a slot, checked against the SHA-256 that the file must have. */
  async function ask(slot: MeasuringSlot, question: PoolRequest, request: FrameRequest, signal: AbortSignal) {
    const answer = await slot.run(question, timeLimitSeconds * 1000, signal);
    if (!answer.ok) throw new StopledgerError(answer.failure.code, answer.failure.message);
    const { sha256 } = answer.task === 'sample' ? answer.result.source : answer.result.measurement.source;
    if (request.sha256 !== undefined && request.sha256 !== sha256) {
      const message = `the stored file has SHA-256 ${sha256}; what was received had ${request.sha256}`;
      throw new StopledgerError('digest-mismatch', message);
    }
    return answer;
  }

  async function askUntilAnswered(question: PoolRequest, request: FrameRequest) {
    if (closed !== null) throw closed;
    const given = request.signal;
    given?.throwIfAborted();
    const stop = new AbortController();
    const onAbort = (): void => {
      stop.abort(given?.reason);
    };
    // One signal may stand for every frame of a large shoot.
    if (given !== undefined) setMaxListeners(0, given);
    given?.addEventListener('abort', onAbort, { once: true });
    inHand.add(stop);
    try {
      return await askWithSlot(question, request, stop.signal);
    } finally {
      inHand.delete(stop);
      given?.removeEventListener('abort', onAbort);
    }
  }

  async function askWithSlot(question: PoolRequest, request: FrameRequest, signal: AbortSignal) {
    const slot = await takeSlot(signal);
    try {
      for (let tries = 1; ; tries += 1) {
        request.onAttempt?.(tries);
        try {
          return await ask(slot, question, request, signal);
        } catch (error) {
          if (!(error instanceof StopledgerError) || signal.aborted || !error.retryable) throw error;
          if (tries < maxAttempts) continue;
          if (maxAttempts === 1) throw error;
          throw new StopledgerError(error.code, `${error.message} (tried ${tries} times)`, { cause: error });
        }
      }
    } finally {
      giveBack(slot);
    }
  }

  return {
    workers,

    warm() {
      for (const slot of slots) slot.warm();
    },

    async measure(request) {
      const { path, options: measuring } = request;
      const answer = await askUntilAnswered({ task: 'measure', path, options: measuring }, request);
      if (answer.task !== 'measure') throw wrongAnswer('measure', answer.task);
      return answer.result;
    },

    async sample(request) {
      const { path, maxPixels } = request;
      const answer = await askUntilAnswered({ task: 'sample', path, maxPixels }, request);
      if (answer.task !== 'sample') throw wrongAnswer('sample', answer.task);
      return answer.result;
    },

    async close() {
      closed ??= new StopledgerError('shutting-down', 'the measuring processes are being ended');
      for (const stop of inHand) stop.abort(closed);
      await Promise.all(slots.map((slot) => slot.close()));
    },
  };
}

function wrongAnswer(asked: string, received: string): StopledgerError {
  return new StopledgerError('internal', `a measuring process was asked to ${asked} and answered to ${received}`);
}
