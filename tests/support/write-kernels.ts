import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { compileKernel, KERNELS, kernelModule } from './compile-kernel.js';

/** `npm run kernels`: compiles what lies in worker/kernels and writes it where the program reads it. */
for (const { source, compiled } of KERNELS) {
  const wasm = compileKernel(source);
  writeFileSync(compiled, kernelModule(wasm));
  console.log(`${fileURLToPath(compiled)}: ${wasm.length} bytes`);
}
