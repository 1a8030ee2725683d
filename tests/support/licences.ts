import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';

const ROOT = join(import.meta.dirname, '../..');
const Lock = z.object({
  packages: z.record(
    z.string(),
    z.object({ version: z.string().optional(), license: z.string().optional(), dev: z.boolean().optional() }),
  ),
});

/** What a package says nowhere that a program can read, or says of its wrapper only; each read in its own files. */
const READ_BY_HAND: Readonly<Record<string, string>> = {
  busboy: 'MIT',
  streamsearch: 'MIT',
  // The wrapper is ISC; the LibRaw inside of it is one of these two, as its user likes.
  'libraw-wasm': 'ISC AND (LGPL-2.1-only OR CDDL-1.0)',
};

/**
 * Licences under which a package may be used and passed on with this one, unchanged and with its notice. Those of the
 * libraries behind sharp, HEIF and raw files (LGPL, CDDL) besides ask that the library can be replaced: they are packages of
 * their own.
 */
export const ACCEPTED = new Set([
  'MIT',
  'ISC',
  '0BSD',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'Apache-2.0',
  'Unlicense',
  'OFL-1.1',
  'LGPL-3.0',
  'LGPL-3.0-or-later',
  'Apache-2.0 AND LGPL-3.0-or-later',
  'Apache-2.0 AND LGPL-3.0-or-later AND MIT',
  'ISC AND (LGPL-2.1-only OR CDDL-1.0)',
]);

export interface LicensedPackage {
  name: string;
  version: string;
  /** SPDX expression, or `none told`. */
  licence: string;
}

/** Every package that is installed with the service (not those for tests and building), as the lock file has it. */
export function licensedPackages(): LicensedPackage[] {
  const { packages } = Lock.parse(JSON.parse(readFileSync(join(ROOT, 'package-lock.json'), 'utf8')));
  return Object.entries(packages)
    .filter(([path, { dev }]) => path !== '' && dev !== true)
    .map(([path, { version = '', license = 'none told' }]) => {
      const name = path.slice(path.lastIndexOf('node_modules/') + 'node_modules/'.length);
      return { name, version, licence: READ_BY_HAND[name] ?? license };
    })
    .sort((a, b) => (a.licence === b.licence ? (a.name < b.name ? -1 : 1) : a.licence < b.licence ? -1 : 1));
}
