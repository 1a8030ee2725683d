import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { CHROMIUM_INSTALLED, startChromium } from '../support/chromium.js';
import { largePage } from '../support/large-page.js';
import { openPage } from '../support/page.js';

const FRAMES = 2000;
const ROUNDS = 5;

/** In the page: does something, and says how long it took until the next picture was painted, in milliseconds. */
const untilPainted = (work: string): string => `new Promise((done) => {
  const from = performance.now();
  ${work};
  requestAnimationFrame(() => setTimeout(() => done(performance.now() - from)));
})`;
const filterBy = (name: string, value: string): string => `{
  const select = [...document.querySelectorAll('form.filters select')].find((one) => one.name === '${name}');
  select.value = '${value}';
  select.dispatchEvent(new Event('change', { bubbles: true }));
}`;
const middle = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] ?? NaN;

/** The report of 2,000 frames in Chromium: from a change of the filter, or the opening of a frame, until it is painted. */
export async function pageBench(): Promise<void> {
  if (!CHROMIUM_INSTALLED) {
    console.log('\nThe page of 2,000 frames: left out, Chromium is not installed (apt-get install chromium)');
    return;
  }
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-page-'));
  const browser = await startChromium();
  try {
    const html = await largePage(FRAMES);
    const file = join(folder, 'report.html');
    await writeFile(file, html);
    const { page } = await openPage(browser, pathToFileURL(file).href, { widthPx: 1600, scheme: 'light' });
    const times = { filter: [] as number[], all: [] as number[], open: [] as number[] };
    for (let round = 0; round < ROUNDS; round += 1) {
      times.filter.push(await page.evaluate<number>(untilPainted(filterBy('verdict', 'off'))));
      times.all.push(await page.evaluate<number>(untilPainted(filterBy('verdict', ''))));
      times.open.push(await page.evaluate<number>(untilPainted(`document.querySelector('#frame-${100 + round} summary').click()`))); // prettier-ignore
    }
    const told = (values: readonly number[]): string =>
      `${middle(values).toFixed(0)} ms (${Math.min(...values).toFixed(0)} to ${Math.max(...values).toFixed(0)})`;
    console.log(`\nThe page of ${FRAMES} frames in Chromium ${browser.version()}, ${(html.length / 1024 ** 2).toFixed(1)} MB, until painted, median of ${ROUNDS}; goal 100 ms`); // prettier-ignore
    console.log(`  filter by verdict   ${told(times.filter)}`);
    console.log(`  show all            ${told(times.all)}`);
    console.log(`  open a frame        ${told(times.open)}`);
  } finally {
    await browser.close();
    await rm(folder, { recursive: true, force: true });
  }
}
