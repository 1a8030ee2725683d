// AssemblyScript, compiled to WebAssembly SIMD by `npm run kernels` into cells.wasm.ts; not part of the TypeScript program.
// Work on planes of the working image, handed over a piece at a time; worker/cells-kernel.ts lays out the memory.
// `tests/unit/cells.test.ts` holds the results to plain loops in doubles.

export * from './cells/background';
export * from './cells/colours';
export * from './cells/crops';
export * from './cells/display';
export * from './cells/legs';
export * from './cells/light';
export * from './cells/masks';
