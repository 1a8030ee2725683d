import { expect, it } from 'vitest';
import { ACCEPTED, licensedPackages } from '../support/licences.js';

it('everything that is installed with the service has a licence under which it may be', () => {
  const packages = licensedPackages();
  expect(packages.map(({ name }) => name)).toEqual(expect.arrayContaining(['express', 'sharp', 'libraw-wasm']));
  expect(packages.filter(({ licence }) => !ACCEPTED.has(licence))).toEqual([]);
  // Tests and building only.
  expect(packages.map(({ name }) => name)).not.toContain('vitest');
});
