import { growMemory, kernelInstance } from './kernel-instance.js';
import { WASM_BASE64 } from './kernels/cells.wasm.js';

/** The functions of worker/kernels/cells.ts, which says what each is given; addresses are bytes of `memory`. */
interface CellsKernel {
  memory: WebAssembly.Memory;
  displayCells: (...args: number[]) => void;
  replaceCodes: (...args: number[]) => void;
  halveCodes: (...args: number[]) => void;
  cropCodes: (...args: number[]) => void;
  paintLogits: (...args: number[]) => void;
  partLegs: (...args: number[]) => number;
  inTrapezium: (...args: number[]) => number;
  smoothColours: (...args: number[]) => void;
  tallyLight: (...args: number[]) => void;
  tallyUnmarked: (...args: number[]) => number;
  addSixthPowers: (...args: number[]) => number;
  spreadMarks: (...args: number[]) => void;
  markAbove: (...args: number[]) => void;
  unmarked: (...args: number[]) => number;
}

const PAGE_BYTES = 65_536;

let opened: CellsKernel | null = null;

/**
 * The kernel with memory for some arrays. One instance a process: what one call leaves in memory is gone with the next,
 * so results are copied out at once.
 *
 * @param lengths bytes of each array, by name
 * @returns the address of each, a multiple of 16, and the memory as it is now
 */
export function cellsKernel<Name extends string>(
  lengths: Record<Name, number>,
): { kernel: CellsKernel; at: Record<Name, number>; buffer: ArrayBuffer } {
  opened ??= kernelInstance<CellsKernel>(WASM_BASE64);
  // The first page is the module's own.
  let end = PAGE_BYTES;
  const at = { ...lengths };
  for (const name of Object.keys(lengths) as Name[]) {
    at[name] = end;
    end = (end + lengths[name] + 15) & ~15;
  }
  const { memory } = opened;
  growMemory(memory, end);
  return { kernel: opened, at, buffer: memory.buffer };
}
