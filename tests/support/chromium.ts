import { existsSync } from 'node:fs';
import { chromium, type Browser } from 'playwright-core';

const PROGRAM = '/usr/bin/chromium';

/** Chromium as Debian packages it (apt-get install chromium); no browser is downloaded. */
export const CHROMIUM_INSTALLED = existsSync(PROGRAM);
export const CHROMIUM_NOTE = CHROMIUM_INSTALLED
  ? ''
  : ' (skipped: chromium is not installed; apt-get install chromium)';

/** Starts it without a window. Root, as in a container, cannot have its sandbox; the pages opened are our own. */
export const startChromium = (): Promise<Browser> =>
  chromium.launch({ executablePath: PROGRAM, args: process.getuid?.() === 0 ? ['--no-sandbox'] : [] });
