import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import initLibRaw, { type LibRawInstance, type LibRawModule } from 'libraw-wasm/dist/libraw.js';
import { StopledgerError, type ErrorCode } from '../../src/errors.js';

const wasmPath = createRequire(import.meta.url).resolve('libraw-wasm/dist/libraw.wasm');
let current: Promise<LibRawModule> | null = null;

/**
 * Runs `use` with a fresh LibRaw instance and frees it. A fault inside the WebAssembly memory spoils the whole
 * module: it is dropped and the next frame gets a new one. What LibRaw throws (objects that carry no message)
 * becomes `refused` with the sentence `what`.
 */
export async function withLibRaw<T>(use: (libraw: LibRawInstance, attempt: Attempt) => T): Promise<T> {
  current ??= readFile(wasmPath).then((wasmBinary) =>
    initLibRaw({ wasmBinary, print: () => undefined, printErr: () => undefined }),
  );
  const module = await current.catch((thrown: unknown) => {
    current = null;
    throw new StopledgerError('internal', 'The raw decoder could not be started', { cause: thrown });
  });
  const libraw = new module.LibRaw();
  let spoiled = false;
  const attempt: Attempt = (what, code, step) => {
    try {
      return step();
    } catch (thrown) {
      if (thrown instanceof StopledgerError) throw thrown;
      spoiled = thrown instanceof Error;
      const because = spoiled ? `: ${(thrown as Error).message.slice(0, 200)}` : '';
      throw new StopledgerError(spoiled ? 'frame-corrupt' : code, `${what}${because}`, { cause: thrown });
    }
  };
  try {
    return use(libraw, attempt);
  } finally {
    if (spoiled) current = null;
    else libraw.delete();
  }
}

/** Runs one step; if LibRaw refuses it, throws StopledgerError with this code and sentence. */
export type Attempt = <T>(what: string, code: ErrorCode, step: () => T) => T;
