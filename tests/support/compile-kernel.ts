import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const inKernels = (name: string) => new URL(`../../worker/kernels/${name}`, import.meta.url);

/** Each AssemblyScript file and the module that carries it compiled. */
export const KERNELS = [
  { source: inKernels('block-row.ts'), compiled: inKernels('block-row.wasm.ts') },
  { source: inKernels('cells.ts'), compiled: inKernels('cells.wasm.ts') },
  { source: inKernels('mosaic.ts'), compiled: inKernels('mosaic.wasm.ts') },
  { source: inKernels('lossless-jpeg.ts'), compiled: inKernels('lossless-jpeg.wasm.ts') },
] as const;

/**
 * Compiles an AssemblyScript file to WebAssembly SIMD that exports its memory. The compiler runs as a program: its types
 * would change those of plain JavaScript here.
 *
 * @throws Error with the compiler's words where it does not compile.
 */
export function compileKernel(path: URL): Uint8Array {
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-kernel-'));
  try {
    const compiled = join(folder, 'kernel.wasm');
    const compiler = fileURLToPath(import.meta.resolve('assemblyscript/bin/asc.js'));
    const flags = ['-O3', '--noAssert', '--runtime', 'stub', '--enable', 'simd', '--initialMemory', '1'];
    execFileSync(process.execPath, [compiler, fileURLToPath(path), '--outFile', compiled, ...flags]);
    return readFileSync(compiled);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The TypeScript that carries compiled bytes. */
export function kernelModule(wasm: Uint8Array): string {
  const lines =
    Buffer.from(wasm)
      .toString('base64')
      .match(/.{1,110}/g) ?? [];
  return [
    '// Compiled by `npm run kernels`; not to be edited.',
    'export const WASM_BASE64 =',
    lines.map((line) => `  '${line}'`).join(' +\n') + ';',
    '',
  ].join('\n');
}
