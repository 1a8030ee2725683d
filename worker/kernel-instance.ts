const PAGE_BYTES = 65_536;

/**
 * A compiled kernel of worker/kernels, ready to be called.
 *
 * @param base64 what its `.wasm.ts` carries
 * @returns its exports, whose types `Exports` has to tell
 */
export function kernelInstance<Exports extends { memory: WebAssembly.Memory }>(base64: string): Exports {
  const compiled = new WebAssembly.Module(Buffer.from(base64, 'base64'));
  return new WebAssembly.Instance(compiled).exports as unknown as Exports;
}

/** Grows a kernel's memory where it ends before so many bytes; arrays over it from before are empty then. */
export function growMemory(memory: WebAssembly.Memory, bytes: number): void {
  const missingPages = Math.ceil((bytes - memory.buffer.byteLength) / PAGE_BYTES);
  if (missingPages > 0) memory.grow(missingPages);
}
