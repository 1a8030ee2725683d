import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const inKernels = (name: string) => new URL(`../../worker/kernels/${name}`, import.meta.url);

/** Each AssemblyScript file and the module that carries it compiled. */
export const KERNELS = [{ source: inKernels('block-row.ts'), compiled: inKernels('block-row.wasm.ts') }] as const;

/**
 * Compiles an AssemblyScript file to WebAssembly SIMD that exports its memory.
 *
 * @throws Error with the compiler's words where it does not compile.
 */
export async function compileKernel(path: URL): Promise<Uint8Array> {
  const source = readFileSync(path, 'utf8');
  const outputs: Uint8Array[] = [];
  const { error } = await asc.main(
    [
      ...['kernel.ts', '--outFile', 'kernel.wasm', '-O3', '--noAssert'],
      ...['--runtime', 'stub', '--enable', 'simd', '--initialMemory', '1'],
    ],
    {
      readFile: (name) => (name === 'kernel.ts' ? source : null),
      writeFile: (_name, contents) => {
        if (typeof contents !== 'string') outputs.push(contents);
      },
      listFiles: () => [],
    },
  );
  const [wasm] = outputs;
  if (error || !wasm) throw new Error(`${fileURLToPath(path)} did not compile: ${error?.message}`);
  return wasm;
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
