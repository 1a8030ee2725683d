import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import sharp from 'sharp';
import { renderTerminalReport } from '../../src/render/terminal.js';
import { startChromium } from './chromium.js';
import { REPOSITORY } from './cli.js';
import { openPage } from './page.js';
import { sampleReport } from './sample-report.js';

/**
 * `npm run pictures`: README's pictures, made from the sample shoot as it is measured now: the report's first screen, its
 * strip and set-ups, a frame opened, and the table of the terminal.
 */
const FOLDER = join(REPOSITORY, 'docs', 'pictures');
const TERMINAL_COLUMNS = 100;
const OPENED = 'MKR_0024.jpg';

const escaped = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

async function keep(name: string, png: Buffer): Promise<void> {
  const file = join(FOLDER, `${name}.webp`);
  const { size } = await sharp(png).webp({ quality: 82, effort: 6 }).toFile(file);
  console.log(`${file}: ${Math.round(size / 1024)} KiB`);
}

await mkdir(FOLDER, { recursive: true });
const [browser, sample] = await Promise.all([startChromium(), sampleReport()]);
try {
  const url = pathToFileURL(join(sample.folder, 'report.html')).href;
  const { page } = await openPage(browser, url, { widthPx: 1600, scheme: 'light' });
  await keep('first-screen', await page.screenshot());
  const number = sample.report.frames.findIndex(({ name }) => name === OPENED) + 1;
  const frame = page.locator(`#frame-${number}`);
  await frame.locator('summary').click();
  for (const picture of await frame.locator('img:visible').all()) await picture.scrollIntoViewIfNeeded();
  await keep('frame', await frame.screenshot());

  const text = renderTerminalReport(sample.report, { columns: TERMINAL_COLUMNS });
  const terminal = await browser.newPage({ viewport: { width: 1000, height: 900 } });
  await terminal.setContent(
    `<body style="margin:0"><pre style="margin:0;padding:16px;display:inline-block;font:14px/1.35 'DejaVu Sans Mono',monospace;color:#e8e6df;background:#1d2026">${escaped(text)}</pre>`,
  );
  await keep('terminal', await terminal.locator('pre').screenshot());
} finally {
  await browser.close();
  await sample.close();
}
