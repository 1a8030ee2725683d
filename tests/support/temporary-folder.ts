import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, onTestFinished } from 'vitest';

/** A folder of its own for one test, gone after it. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-test-'));
  onTestFinished(() => rm(folder, { recursive: true, force: true, maxRetries: 3 }));
  return folder;
}

/** The same for all tests of a file: returns how to get at it. */
export function temporaryFolderForFile(): () => string {
  const folder = mkdtempSync(join(tmpdir(), 'stopledger-test-'));
  afterAll(() => rm(folder, { recursive: true, force: true, maxRetries: 3 }));
  return () => folder;
}
