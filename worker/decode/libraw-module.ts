import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import initLibRaw, { type LibRawInstance, type LibRawModule } from 'libraw-wasm/dist/libraw.js';
import { StopledgerError, type ErrorCode } from '../../src/errors.js';

const wasmPath = createRequire(import.meta.url).resolve('libraw-wasm/dist/libraw.wasm');

interface Started {
  module: LibRawModule;
  /** It has refused a file, which may have written over its memory. */
  hasRefused: boolean;
}

let current: Promise<Started> | null = null;

/**
 * Runs `use` with a fresh LibRaw instance and frees it. What LibRaw throws (objects that carry no message, or faults
 * of the WebAssembly machine) becomes StopledgerError with the sentence given to `attempt`.
 *
 * A fault spoils the whole module: it is dropped and the next file gets a new one. Where an earlier file may have
 * caused it, this file is tried again in a new module, so that none pays for another. A fault while freeing says that
 * the file wrote over memory: it is refused as corrupt, whatever was read of it. (A new module after every refusal
 * would be simpler, but each leaves about 1.5 MB behind for good.)
 */
export async function withLibRaw<T>(use: Use<T>): Promise<T> {
  const started = await startedModule();
  const mayBeSpoiled = started.hasRefused;
  let outcome = runIn(started, use);
  if (outcome.fault && mayBeSpoiled) outcome = runIn(await startedModule(), use);
  if ('thrown' in outcome) throw outcome.thrown;
  return outcome.result;
}

/** Runs one step; if LibRaw refuses it, throws StopledgerError with this code and sentence. */
export type Attempt = <T>(what: string, code: ErrorCode, step: () => T) => T;

/**
 * Runs one step with a second instance, and frees it; null where LibRaw refuses it. A fault ends the first one's use too,
 * since both live in one memory.
 */
export type Beside = <T>(what: string, step: (libraw: LibRawInstance) => T) => T | null;

type Use<T> = (libraw: LibRawInstance, attempt: Attempt, beside: Beside) => T;

type Outcome<T> = { fault: false; result: T } | { fault: boolean; thrown: unknown };

function runIn<T>(started: Started, use: Use<T>): Outcome<T> {
  let fault = false;
  const attempt: Attempt = (what, code, step) => {
    try {
      return step();
    } catch (thrown) {
      if (thrown instanceof StopledgerError) throw thrown;
      started.hasRefused = true;
      // Exceptions of LibRaw itself are objects with a pointer; all else is the WebAssembly machine giving up.
      if (isLibRawException(thrown)) throw new StopledgerError(code, what, { cause: thrown });
      fault = true;
      const because = thrown instanceof Error ? thrown.message : String(thrown);
      throw new StopledgerError('frame-corrupt', `${what}: ${because.slice(0, 200)}`, { cause: thrown });
    }
  };
  const instance = (): LibRawInstance =>
    attempt('LibRaw could not be started', 'internal', () => new started.module.LibRaw());
  const beside: Beside = (what, step) => {
    try {
      return usedAndFreed(instance(), attempt, (libraw) => attempt(what, 'frame-corrupt', () => step(libraw)));
    } catch (thrown) {
      if (fault || !(thrown instanceof StopledgerError)) throw thrown;
      return null;
    }
  };
  try {
    const result = usedAndFreed(instance(), attempt, (libraw) => use(libraw, attempt, beside));
    return { fault: false, result };
  } catch (thrown) {
    return { fault, thrown };
  } finally {
    if (fault) current = null;
  }
}

function usedAndFreed<T>(libraw: LibRawInstance, attempt: Attempt, use: (libraw: LibRawInstance) => T): T {
  const free = (): void => {
    attempt('LibRaw could not free the file: it has written over memory', 'frame-corrupt', () => {
      libraw.delete();
    });
  };
  let result: T;
  try {
    result = use(libraw);
  } catch (thrown) {
    try {
      free();
    } catch {
      // That the module is spoiled is noted; why the file was refused is the first reason.
    }
    throw thrown;
  }
  free();
  return result;
}

async function startedModule(): Promise<Started> {
  current ??= readFile(wasmPath)
    .then((wasmBinary) => initLibRaw({ wasmBinary, print: () => undefined, printErr: () => undefined }))
    .then((module) => ({ module, hasRefused: false }));
  try {
    return await current;
  } catch (thrown) {
    current = null;
    throw new StopledgerError('internal', 'The raw decoder could not be started', { cause: thrown });
  }
}

function isLibRawException(thrown: unknown): boolean {
  return typeof thrown === 'object' && thrown !== null && 'excPtr' in thrown;
}
