import { readFileSync } from 'node:fs';
import { z } from 'zod';

/** The package's folder lies one up from source, two from what is built. */
function packageVersion(): string {
  for (const up of ['../package.json', '../../package.json']) {
    try {
      const read: unknown = JSON.parse(readFileSync(new URL(up, import.meta.url), 'utf8'));
      return z.object({ version: z.string() }).parse(read).version;
    } catch {
      continue;
    }
  }
  return 'unknown';
}

/** Version of this package, as in package.json. */
export const VERSION = packageVersion();
