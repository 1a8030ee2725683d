import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import type { Browser, Locator, Page } from 'playwright-core';

export interface Screen {
  widthPx: number;
  scheme: 'light' | 'dark';
}

export const SCREENS: readonly Screen[] = [360, 1600].flatMap((widthPx) =>
  (['light', 'dark'] as const).map((scheme) => ({ widthPx, scheme })),
);

export interface OpenedPage {
  page: Page;
  /** Errors and warnings of the console, and what was thrown. */
  complaints: string[];
  /** Addresses asked for, data: aside. */
  requests: string[];
}

/** Opens an address in a context of its own, as a reader of that screen would. */
export async function openPage(browser: Browser, url: string, { widthPx, scheme }: Screen): Promise<OpenedPage> {
  const context = await browser.newContext({
    viewport: { width: widthPx, height: widthPx < 600 ? 780 : 1000 },
    colorScheme: scheme,
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  const complaints: string[] = [];
  const requests: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(String(error)));
  page.on('request', (request) => {
    if (!request.url().startsWith('data:')) requests.push(request.url());
  });
  await page.goto(url);
  await page.locator('#shown:not(:empty)').waitFor({ state: 'attached' });
  return { page, complaints, requests };
}

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core finds wrong, a line each: the rule, the first place, what to do. Empty when nothing. */
export async function axeViolations(page: Page): Promise<string[]> {
  await page.evaluate(AXE);
  const found = await page.evaluate<{ id: string; help: string; nodes: { target: string[]; failureSummary: string }[] }[]>(
    'axe.run(document).then(({ violations }) => violations)',
  ); // prettier-ignore
  return found.map(({ id, help, nodes }) => `${id}: ${help} (${nodes.length} times, first at ${nodes[0]?.target.join(' ')}: ${nodes[0]?.failureSummary})`); // prettier-ignore
}

/** How far the page is wider than the screen, in pixels; 0 when it does not scroll sideways. */
export const sidewaysPx = (page: Page): Promise<number> =>
  page.evaluate<number>('document.documentElement.scrollWidth - document.documentElement.clientWidth');

/** Elements that reach past the right edge of the page, unless they are meant for ears only. */
export const cutElements = (page: Page): Promise<string[]> =>
  page.evaluate<string[]>(`[...document.body.querySelectorAll('*')]
    .filter((element) => !element.closest('.unseen, .skip') && element.checkVisibility())
    .filter((element) => element.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
    .map((element) => element.tagName + '.' + element.getAttribute('class') + ' ' + element.textContent.slice(0, 40))`);

/** Width of a picture's own pixels, once it is there; throws when it cannot be shown. */
export const naturalWidthPx = (picture: Locator): Promise<number> =>
  picture.evaluate(async (element: unknown) => {
    const picture = element as { decode(): Promise<void>; naturalWidth: number };
    await picture.decode();
    return picture.naturalWidth;
  });
