import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { parse } from 'csv-parse/sync';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { CHROMIUM_INSTALLED, CHROMIUM_NOTE, startChromium } from '../support/chromium.js';
import { REPOSITORY } from '../support/cli.js';
import {
  axeViolations,
  cutElements,
  naturalWidthPx,
  openPage,
  SCREENS,
  sidewaysPx,
  type OpenedPage,
  type Screen,
} from '../support/page.js';
import { sampleReport, type SampleReport } from '../support/sample-report.js';

/*
 * The sample shoot's own page in a real browser, from disk and from the service: what a reader sees, by mouse, keyboard,
 * screen reader (axe-core) and on paper.
 */
const WIDE: Screen = { widthPx: 1600, scheme: 'light' };

describe.skipIf(!CHROMIUM_INSTALLED)(`the sample shoot's page in Chromium${CHROMIUM_NOTE}`, () => {
  let browser: Browser;
  let sample: SampleReport;

  beforeAll(async () => {
    [browser, sample] = await Promise.all([startChromium(), sampleReport()]);
  }, 300_000);
  afterAll(async () => {
    await browser.close();
    await sample.close();
  });

  const onDisk = () => pathToFileURL(join(sample.folder, 'report.html')).href;
  const fromService = () => `${sample.shootUrl}/report`;
  const opened = async (url: string, screen: Screen = WIDE): Promise<OpenedPage> => {
    const it = await openPage(browser, url, screen);
    onTestFinished(() => it.page.context().close());
    return it;
  };
  const frameId = (name: string) => `#frame-${sample.report.frames.findIndex((frame) => frame.name === name) + 1}`;
  const shownNames = (page: Page) => page.locator('.frame:not([hidden]) h3').allTextContents();

  it.each(['disk', 'service'])('answers on the first screen, from %s: counts and the three findings', async (from) => {
    const { page, complaints, requests } = await opened(from === 'disk' ? onDisk() : fromService());
    const { summary } = sample.report;
    const answer = page.locator('.answer');
    const text = await answer.innerText();
    expect(text).toContain(`${summary.consistent} of ${summary.frames} frames are consistent`);
    for (const count of [`${summary.check} check`, `${summary.off} off`]) expect(text).toContain(count);
    expect(summary.findings.length).toBeGreaterThanOrEqual(3);
    for (const finding of summary.findings.slice(0, 3)) expect(text.replaceAll(/\s+/g, ' ')).toContain(finding);
    const box = await answer.boundingBox();
    expect((box?.y ?? 0) + (box?.height ?? Infinity)).toBeLessThan(1000);
    expect(complaints).toEqual([]);
    expect(requests).toEqual([page.url()]);
  });

  it('filters by flag, by set-up and by verdict, says how many are shown, and shows all again', async () => {
    const { page } = await opened(onDisk());
    const of = (fits: (frame: SampleReport['report']['frames'][number]) => boolean) =>
      sample.report.frames.filter(fits).map(({ name }) => name);
    const dark = of((frame) => frame.flags.some(({ code }) => code === 'lower-body-dark'));
    expect(dark.length).toBeGreaterThan(0);
    await page.getByRole('combobox', { name: 'Flag', exact: true }).selectOption('lower-body-dark');
    expect(await shownNames(page)).toEqual(dark);
    expect(await page.getByRole('status').innerText()).toBe(`${dark.length} of ${sample.report.frames.length} frames shown`); // prettier-ignore
    await page.getByRole('button', { name: 'Show all' }).click();
    await page
      .getByRole('status')
      .and(page.getByText(`${sample.report.frames.length} of`))
      .waitFor();
    expect(await shownNames(page)).toEqual(of(() => true));
    await page.getByRole('combobox', { name: 'Set-up', exact: true }).selectOption('s3');
    await page.getByRole('combobox', { name: 'Verdict', exact: true }).selectOption('off');
    const offInS3 = of(({ setup, verdict }) => setup === 's3' && verdict === 'off');
    expect(offInS3.length).toBeGreaterThan(0);
    expect(await shownNames(page)).toEqual(offInS3);
    await page.getByRole('combobox', { name: 'Verdict', exact: true }).selectOption('consistent');
    await page.getByRole('combobox', { name: 'Flag', exact: true }).selectOption('lower-body-dark');
    expect(await shownNames(page)).toEqual([]);
  });

  it('opens a frame by a click on its picture: regions outlined, reasons, advice, before and after, plots', async () => {
    const { page, requests } = await opened(onDisk());
    const frame = page.locator(frameId('MKR_0046.jpg'));
    await frame.locator('img.picture').click();
    await frame.locator('details[open] summary:focus').waitFor();
    const inside = frame.locator('.opened');
    for (const alt of [/outlined$/, /^MKR_0046\.jpg as it is, and beside it with lower body \+/]) {
      const picture = inside.getByAltText(alt);
      await picture.scrollIntoViewIfNeeded();
      expect(await naturalWidthPx(picture)).toBeGreaterThan(300);
    }
    const text = await inside.innerText();
    const { because } = sample.report.frames.find(({ name }) => name === 'MKR_0046.jpg')?.flags[0] ?? { because: '?' };
    for (const part of [because, 'What to do', 'Exposure data', 'f/8', 'VHC Trestle 2', 'Face over lower body, light'])
      expect(text).toContain(part);
    expect(await inside.locator('svg').count()).toBe(2);
    await frame.getByText('Close').click();
    await frame.locator('details:not([open])').waitFor({ state: 'attached' });
    expect(requests).toEqual([page.url()]);
  });

  it('says bounds as bounds where skin is clipped', async () => {
    const { page } = await opened(onDisk());
    const frame = page.locator(frameId('MKR_0026.jpg'));
    await frame.locator('img.picture').click();
    expect(await frame.getByRole('row', { name: /^Face over mid-grey/ }).innerText()).toMatch(/at least \+\d/);
    expect(await frame.locator('.advice').innerText()).toMatch(/its level is at least/);
  });

  it('is used by keyboard: into the strip, along it, into a frame, out again to where one was', async () => {
    const { page } = await opened(onDisk());
    await page.keyboard.press('Tab');
    expect(await page.locator('.skip:focus').count()).toBe(1);
    await page.locator('.strip-scroll').focus();
    const marks = page.locator('.strip-scroll svg a[href^="#frame-"]');
    await marks.and(page.locator('[tabindex="0"]')).focus();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('a[href="#frame-2"]:focus').count()).toBe(1);
    await page.keyboard.press('Home');
    for (let i = 1; i < 8; i += 1) await page.keyboard.press('ArrowRight');
    expect(await page.locator('.told').innerText()).toMatch(/^MKR_0008\.jpg: off, −4\.\d+ stops from its set-up/);
    await page.keyboard.press('Enter');
    await page.locator('#frame-8 details[open] summary:focus').waitFor();
    await page.keyboard.press('Escape');
    await page.locator('.strip-scroll a[href="#frame-8"]:focus').waitFor();
    expect(await page.locator('.frame.is-open').count()).toBe(0);
    // The strip is one stop: the next Tab leaves it.
    for (let i = 0; i < 20 && (await page.locator('.strip-scroll :focus').count()) > 0; i += 1) await page.keyboard.press('Tab'); // prettier-ignore
    expect(await page.locator('#setups :focus').count()).toBe(1);
  });

  it('opens and closes by Enter and Escape in the sheet, and every stop of Tab there shows where it is', async () => {
    const { page } = await opened(onDisk());
    await page.getByRole('button', { name: 'Show all' }).focus();
    await page.keyboard.press('Tab');
    await page.locator('#frame-1 summary:focus').waitFor();
    expect(await page.evaluate('getComputedStyle(document.activeElement).outlineStyle')).toBe('solid');
    await page.keyboard.press('Enter');
    await page.locator('#frame-1 details[open]').waitFor();
    await page.keyboard.press('Tab');
    expect(await page.locator('#frame-1 a:focus').innerText()).toBe('Set-up s1');
    await page.keyboard.press('Escape');
    await page.locator('#frame-1 details:not([open]) summary:focus').waitFor();
  });

  it('leads from the strip to the frame, by hover and by click, also when a filter hides it', async () => {
    const { page } = await opened(onDisk());
    await page.getByRole('combobox', { name: 'Verdict', exact: true }).selectOption('consistent');
    const mark = page.locator('.strip-scroll a[href="#frame-26"]').first();
    await mark.hover();
    expect(await page.locator('.told').innerText()).toMatch(/^MKR_0026\.jpg: off/);
    expect(await page.locator('.told img').isVisible()).toBe(true);
    await mark.click();
    await page.locator('#frame-26 details[open] summary:focus').waitFor();
    await expect.poll(async () => Math.abs((await page.locator('#frame-26').boundingBox())?.y ?? Infinity)).toBeLessThan(120); // prettier-ignore
    const span = page.locator('.strip-scroll a[href="#setup-3"]').first();
    expect(await span.locator('title').textContent()).toContain(sample.report.setups[2]?.description);
    await span.click();
    expect(new URL(page.url()).hash).toBe('#setup-3');
  });

  it.each(SCREENS)(
    'has no fault for axe-core and no sideways scroll: $widthPx px, $scheme',
    async (screen) => {
      const { page, complaints } = await opened(onDisk(), screen);
      expect(await sidewaysPx(page)).toBe(0);
      expect(await axeViolations(page)).toEqual([]);
      for (const name of ['MKR_0026.jpg', 'MKR_0046.jpg']) {
        await page.locator(`${frameId(name)} summary`).click();
        await page.locator(`${frameId(name)}.is-open`).waitFor();
      }
      expect(await sidewaysPx(page)).toBe(0);
      expect(await axeViolations(page)).toEqual([]);
      expect(complaints).toEqual([]);
    },
    180_000,
  );

  it('is dark on light and light on dark, as the reader prefers', async () => {
    const lightness = async (scheme: Screen['scheme']) => {
      const { page } = await opened(onDisk(), { widthPx: 1600, scheme });
      const colours = await page.evaluate<string[]>('[getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]'); // prettier-ignore
      return colours.map((colour) => (colour.match(/\d+/g) ?? []).reduce((sum, n) => sum + Number(n), 0));
    };
    const [lightPaper = 0, lightInk = 0] = await lightness('light');
    const [darkPaper = 0, darkInk = 0] = await lightness('dark');
    expect(lightPaper).toBeGreaterThan(lightInk + 400);
    expect(darkInk).toBeGreaterThan(darkPaper + 400);
  });

  it('prints: nothing past the edge of an A4 page, no controls, every frame, few pages', async () => {
    // 210 mm less two margins of 10 mm, at 96 px an inch.
    const { page } = await opened(onDisk(), { widthPx: 718, scheme: 'dark' });
    await page.locator(`${frameId('MKR_0046.jpg')} summary`).click();
    await page.locator(`${frameId('MKR_0046.jpg')}.is-open`).waitFor();
    await page.emulateMedia({ media: 'print' });
    expect(await cutElements(page)).toEqual([]);
    for (const hidden of ['nav', '.filters', '.told', '#frame-1 summary', '.frame.is-open summary'])
      expect(await page.locator(hidden).first().isVisible(), hidden).toBe(false);
    expect(await page.locator('.frame h3').count()).toBe(sample.report.frames.length);
    expect(await page.evaluate('getComputedStyle(document.body).backgroundColor')).toBe('rgb(255, 255, 255)');
    // What only a background shows is there without the reader's asking for backgrounds.
    for (const shown of ['.share-bar .p-consistent', '.share-bar .p-off', '.key .k-consistent', '.key .k-off'])
      expect(await page.locator(shown).first().evaluate((e) => getComputedStyle(e).printColorAdjust), shown).toBe('exact'); // prettier-ignore
    // Words, numbers and plot of a card stand beside each other, and none of its borders lies on the page's own edge.
    const card = page.locator('.card').first();
    expect(await card.evaluate((e) => getComputedStyle(e).columnCount)).toBe('3');
    expect(await card.evaluate((e) => document.documentElement.clientWidth - e.getBoundingClientRect().right)).toBeGreaterThanOrEqual(1); // prettier-ignore
    // Nothing splits: cards may not be broken, and all of them fit a page (297 mm less two margins of 12 mm).
    const cards = await page.evaluate<[string, number][]>(
      `[...document.querySelectorAll('.card, .frame, .strip-row')].map((card) => [getComputedStyle(card).breakInside, card.getBoundingClientRect().height])`,
    );
    expect(cards.length).toBeGreaterThan(sample.report.frames.length + sample.report.setups.length);
    expect(cards.filter(([breakInside, heightPx]) => breakInside !== 'avoid' || heightPx > (273 / 25.4) * 96)).toEqual([]); // prettier-ignore
    const pdf = (await page.pdf({ format: 'A4', preferCSSPageSize: true })).toString('latin1');
    expect(pdf.startsWith('%PDF-')).toBe(true);
    const pages = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    expect(pages).toBeGreaterThanOrEqual(3);
    expect(pages).toBeLessThanOrEqual(10);
  });

  it('asks the service for before and after when a frame is opened, not sooner', async () => {
    const { page, complaints, requests } = await opened(fromService());
    const frame = page.locator(frameId('MKR_0046.jpg'));
    await frame.scrollIntoViewIfNeeded();
    expect(requests).toEqual([page.url()]);
    await frame.locator('summary').click();
    const picture = frame.getByAltText(/beside it with lower body/);
    await picture.scrollIntoViewIfNeeded();
    expect(await naturalWidthPx(picture)).toBeGreaterThan(300);
    expect(requests.slice(1)).toEqual([`${sample.shootUrl}/frames/MKR_0046.jpg/before-after`]);
    expect(complaints).toEqual([]);
  });

  it('says where before and after is when the service gives none', async () => {
    const { page } = await opened(fromService());
    await page.route('**/before-after', (route) => route.abort());
    const frame = page.locator(frameId('MKR_0046.jpg'));
    await frame.locator('summary').click();
    await frame.locator('.before-after').scrollIntoViewIfNeeded();
    await frame.getByText('Before and after is at the service: /v1/shoots/').waitFor();
    expect(await frame.locator('.before-after img').count()).toBe(0);
  });

  it('stands beside a report.json and a frames.csv that independent readers take', async () => {
    const schema = JSON.parse(await readFile(join(REPOSITORY, 'samples/schemas/shoot-report.schema.json'), 'utf8')) as object; // prettier-ignore
    const report: unknown = JSON.parse(await readFile(join(sample.folder, 'report.json'), 'utf8'));
    const ajv = new Ajv2020({ strict: false, allErrors: true });
    expect(ajv.validate(schema, report), ajv.errorsText()).toBe(true);
    expect(ajv.validate(schema, { ...(report as object), frames: [{}] })).toBe(false);
    const csv = await readFile(join(sample.folder, 'frames.csv'));
    const rows = parse<Record<string, string>>(csv, { columns: true, record_delimiter: '\r\n' });
    expect(rows.map((row) => [row['name'], row['verdict']])).toEqual(sample.report.frames.map(({ name, verdict }) => [name, verdict])); // prettier-ignore
  });
});
