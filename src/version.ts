import { readFileSync } from 'node:fs';
import { z } from 'zod';

/** The package's folder lies one up from source, two from what is built. */
function readPackage(): { version: string; dependencies: Record<string, string> } {
  for (const up of ['../package.json', '../../package.json']) {
    try {
      const read: unknown = JSON.parse(readFileSync(new URL(up, import.meta.url), 'utf8'));
      return z.object({ version: z.string(), dependencies: z.record(z.string(), z.string()) }).parse(read);
    } catch {
      continue;
    }
  }
  return { version: 'unknown', dependencies: {} };
}

const { version, dependencies } = readPackage();

/** Version of this package, as in package.json. */
export const VERSION = version;

/** Packages whose version may change what a frame measures. All are pinned exactly, so package.json tells them. */
const MEASURING_PACKAGES = /^(sharp|libraw-wasm|libheif-js|exifr|@litertjs\/|@mediapipe\/)/;

/** What this process measures with, by name. */
export const MEASURING_VERSIONS: Readonly<Record<string, string>> = Object.freeze({
  stopledger: VERSION,
  node: process.versions.node,
  ...Object.fromEntries(Object.entries(dependencies).filter(([name]) => MEASURING_PACKAGES.test(name))),
});
