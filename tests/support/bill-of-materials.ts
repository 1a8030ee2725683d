import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { z } from 'zod';
import { licensedPackages } from './licences.js';

const ROOT = join(import.meta.dirname, '../..');
const Bill = z.looseObject({
  components: z.array(z.looseObject({ 'bom-ref': z.string(), name: z.string(), version: z.string() })),
  dependencies: z.array(z.looseObject({ ref: z.string(), dependsOn: z.array(z.string()) })),
});
export type BillOfMaterials = z.infer<typeof Bill>;

/**
 * What is installed with the service, as CycloneDX: of everything in the lock file that which is no tool of tests and
 * building. npm's own way of leaving those out (`--omit dev`) also leaves out what both need.
 */
export function billOfMaterials(): BillOfMaterials {
  const options = ['sbom', '--sbom-format', 'cyclonedx', '--package-lock-only'];
  const text = execFileSync('npm', options, { cwd: ROOT, encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 });
  const whole = Bill.parse(JSON.parse(text));
  const wanted = new Set(licensedPackages().map(({ name, version }) => `${name} ${version}`));
  const components = whole.components.filter(({ name, version }) => wanted.has(`${name} ${version}`));
  const refs = new Set(components.map((one) => one['bom-ref']));
  const [root] = whole.dependencies.filter(({ ref }) => ref.startsWith('stopledger@'));
  if (root === undefined) throw new Error('the bill names the service itself');
  refs.add(root.ref);
  const dependencies = whole.dependencies
    .filter(({ ref }) => refs.has(ref))
    .map((one) => ({ ...one, dependsOn: one.dependsOn.filter((ref) => refs.has(ref)) }));
  return { ...whole, components, dependencies };
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  console.log(JSON.stringify(billOfMaterials(), null, 2));
}
