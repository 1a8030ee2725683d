import { expect, it } from 'vitest';
import { billOfMaterials } from '../support/bill-of-materials.js';
import { ACCEPTED, licensedPackages } from '../support/licences.js';

it('everything that is installed with the service has a licence under which it may be', () => {
  const packages = licensedPackages();
  expect(packages.map(({ name }) => name)).toEqual(expect.arrayContaining(['express', 'sharp', 'libraw-wasm']));
  expect(packages.filter(({ licence }) => !ACCEPTED.has(licence))).toEqual([]);
  // Tests and building only.
  expect(packages.map(({ name }) => name)).not.toContain('vitest');
});

it('the bill of materials names everything that is installed with the service, with a checksum, and nothing else', () => {
  const { bomFormat, components, dependencies } = billOfMaterials();
  expect(bomFormat).toBe('CycloneDX');
  const named = components.map(({ name, version }) => `${name} ${version}`);
  expect(named.sort()).toEqual(
    licensedPackages()
      .map(({ name, version }) => `${name} ${version}`)
      .sort(),
  );
  expect(components.filter(({ hashes }) => !Array.isArray(hashes) || hashes.length === 0)).toEqual([]);
  const refs = new Set(components.map((one) => one['bom-ref']));
  for (const { dependsOn } of dependencies) for (const ref of dependsOn) expect(refs).toContain(ref);
}, 60_000);
