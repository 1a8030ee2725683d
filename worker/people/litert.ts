import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import v8 from 'node:v8';
import vm from 'node:vm';
import { StopledgerError } from '../../src/errors.js';

/** A loaded network: one float input, named float outputs. */
export interface Network {
  /**
   * @param input row-major floats, as many as `shape` says
   * @param shape e.g. `[1, 256, 256, 3]`
   * @param wanted names of the outputs that are handed back; all when left out
   * @returns output name -> a copy of its values
   */
  run(
    input: Float32Array,
    shape: readonly number[],
    wanted?: readonly string[],
  ): Promise<ReadonlyMap<string, Float32Array>>;
}

type LiteRt = typeof import('@litertjs/core');

const require = createRequire(import.meta.url);

/** Globals which the runtime expects to find in a browser worker, and which plain Node does not have. */
interface WorkerLikeGlobals {
  self?: unknown;
  importScripts?: unknown;
  ModuleFactory?: unknown;
  Module?: unknown;
}

/** Evaluates a script that sits in a `"type": "module"` package though it is CommonJS, and hands back what it exports. */
function evaluateCommonJs(file: string): unknown {
  const loaded: { exports: unknown } = { exports: {} };
  const source = `(function (exports, require, module, __filename, __dirname) {${readFileSync(file, 'utf8')}\n})`;
  const wrapper = vm.runInThisContext(source, { filename: file }) as (...args: unknown[]) => void;
  wrapper(loaded.exports, createRequire(file), loaded, file, path.dirname(file));
  return loaded.exports;
}

/** A module with one instruction of relaxed SIMD (WebAssembly 3.0): `i8x16.relaxed_swizzle`. */
const RELAXED_SIMD = Uint8Array.of(
  ...[0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0],
  ...[10, 15, 1, 13, 0, 65, 1, 253, 15, 65, 2, 253, 15, 253, 128, 2, 11],
);

/**
 * Lets the runtime take its build with relaxed SIMD, which multiplies and adds in one step where the processor can. Node 22
 * has it by itself, Node 20 behind a flag; where there is neither, the runtime's other build answers the same to 5 digits.
 */
function allowRelaxedSimd(): void {
  if (!WebAssembly.validate(RELAXED_SIMD)) v8.setFlagsFromString('--experimental-wasm-relaxed-simd');
}

/**
 * Loads the WebAssembly inference runtime in plain Node, single-threaded, from the installed package.
 * The runtime is written for browsers and workers: while it loads, a worker-like `self` and
 * `importScripts` stand in, and are taken away again afterwards.
 */
async function loadRuntime(): Promise<LiteRt> {
  const globals = globalThis as WorkerLikeGlobals;
  const hadSelf = 'self' in globals;
  const hadImportScripts = 'importScripts' in globals;
  const warn = console.warn;
  allowRelaxedSimd();
  if (!hadSelf) globals.self = globalThis;
  if (!hadImportScripts) {
    globals.importScripts = (file: string) => {
      globals.ModuleFactory = evaluateCommonJs(file);
    };
  }
  // Start-up chatter only ("no WebGPU"): errors still throw.
  globals.Module = { print: () => undefined, printErr: () => undefined };
  console.warn = () => undefined;
  try {
    const runtime = await import('@litertjs/core');
    const wasmFolder = path.join(path.dirname(require.resolve('@litertjs/core')), '..', 'wasm');
    await runtime.loadLiteRt(`${wasmFolder}${path.sep}`);
    return runtime;
  } finally {
    console.warn = warn;
    if (!hadSelf) delete globals.self;
    if (!hadImportScripts) delete globals.importScripts;
    delete globals.Module;
  }
}

let runtimeOnce: Promise<LiteRt> | null = null;

/**
 * Loads one network from a file of an installed package.
 * @param packageName e.g. `@mediapipe/pose`
 * @param file path inside the package
 * @throws StopledgerError `internal` when the file or the runtime cannot be loaded
 */
export async function loadNetwork(packageName: string, file: string): Promise<Network> {
  try {
    runtimeOnce ??= loadRuntime();
    const runtime = await runtimeOnce;
    const folder = path.dirname(require.resolve(`${packageName}/package.json`));
    const model = await runtime.loadAndCompile(new Uint8Array(readFileSync(path.join(folder, file))), {
      accelerator: 'wasm',
    });
    const names = model.getOutputDetails().map((detail) => detail.name);
    return {
      async run(input, shape, wanted) {
        const tensor = new runtime.Tensor(input, Int32Array.from(shape));
        try {
          const values = new Map<string, Float32Array>();
          for (const [index, output] of (await model.run(tensor)).entries()) {
            const name = names[index] ?? String(index);
            // A copy, though its type does not say so.
            if (!wanted || wanted.includes(name)) values.set(name, output.toTypedArray() as Float32Array);
            output.delete();
          }
          return values;
        } finally {
          tensor.delete();
        }
      },
    };
  } catch (thrown) {
    runtimeOnce = null;
    throw new StopledgerError(
      'internal',
      `The people model ${packageName}/${file} could not be loaded: ${String(thrown)}`,
      { cause: thrown },
    );
  }
}
