import { createHash } from 'node:crypto';
import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import { renderReportHtml, reportContentSecurityPolicy } from '../../src/render/html.js';
import { escapeHtml, markup } from '../../src/render/html/safe.js';
import type { ShootReport } from '../../src/contracts/report.js';
import { fakeFlag, fakeMakersDay, fakeReport } from '../support/report.js';

const PIXEL = 'data:image/png;base64,iVBORw0KGgo=';
const open = (report: ShootReport, extras = {}) => parseHTML(renderReportHtml(report, extras)).document;

describe('report.html', () => {
  it('answers first: how many are consistent and three things to fix', () => {
    const document = open(fakeMakersDay(42));
    expect(document.querySelector('main .big')?.textContent).toBe('33 of 42 frames are consistent');
    expect(document.querySelectorAll('main > :first-child .fix li')).toHaveLength(3);
  });

  it('shows every frame in order, in the strip and in the sheet, and links resolve', () => {
    const report = fakeMakersDay(130);
    const document = open(report);
    expect([...document.querySelectorAll('.frame h3')].map((h) => h.textContent)).toEqual(
      report.frames.map((f) => f.name),
    );
    const inStrip = new Set([...document.querySelectorAll('#strip svg a')].map((a) => a.getAttribute('href')));
    for (let i = 1; i <= 130; i += 1) expect(inStrip.has(`#frame-${i}`), `frame ${i}`).toBe(true);
    for (const link of document.querySelectorAll('a[href]')) {
      const href = link.getAttribute('href') ?? '';
      expect(href).toMatch(/^#/);
      expect(document.getElementById(href.slice(1)), href).not.toBeNull();
    }
  });

  it('needs no network: no address outside the page', () => {
    const text = renderReportHtml(fakeMakersDay(42), { previewDataUris: new Map([['MKD_0001.JPG', PIXEL]]) });
    const document = parseHTML(text).document;
    expect(document.querySelectorAll('link[rel=stylesheet], script[src], iframe, object, embed, base')).toHaveLength(0);
    for (const element of document.querySelectorAll('[src], [href], [action], [poster], [srcset]')) {
      const where = element.getAttribute('src') ?? element.getAttribute('href') ?? '';
      expect(where).toMatch(/^(#|data:)/);
    }
    expect(text.replaceAll('http://www.w3.org/2000/svg', '')).not.toMatch(/https?:\/\/|url\((?!#)/);
    expect(reportContentSecurityPolicy()).toContain("default-src 'none'");
    const script = /<script>([^]*?)<\/script>/.exec(text)?.[1] ?? '';
    const hash = createHash('sha256').update(script).digest('base64');
    expect(reportContentSecurityPolicy()).toContain(`script-src 'sha256-${hash}'`);
  });

  const hostile = '"><img src=x onerror=alert(1)><script>alert(2)</script>.jpg';
  it('escapes hostile names, sentences, set-ups and shoot names everywhere', () => {
    const report = fakeReport(
      [
        {
          name: hostile,
          setup: hostile,
          verdict: 'off',
          fromSetupStops: -2,
          flags: [fakeFlag('light-missing', 'fault', hostile)],
          lifts: [{ region: 'face', stops: 1, because: hostile, limitedBy: null, outline: [] }],
        },
      ],
      [hostile],
    );
    report.shoot.name = hostile;
    report.summary.cautions = [hostile];
    report.summary.toneResponse = hostile;
    report.summary.light.because = hostile;
    const document = open(report, {
      previewDataUris: new Map([[hostile, 'data:image/png;base64,AA" onload="alert(3)']]),
    });
    expect(document.querySelectorAll('script')).toHaveLength(1);
    expect(document.querySelectorAll('img[src]')).toHaveLength(0);
    expect(document.querySelectorAll('img')).toHaveLength(1);
    for (const element of document.querySelectorAll('*')) {
      for (const name of element.getAttributeNames())
        expect(name.startsWith('on'), `${element.tagName} ${name}`).toBe(false);
    }
    expect(document.querySelector('h1')?.textContent).toBe(hostile);
  });

  it('says verdicts in words and marks them by shape', () => {
    const document = open(fakeMakersDay(42));
    for (const frame of document.querySelectorAll('.frame')) {
      expect(frame.querySelector('.verdict')?.textContent).toContain(frame.getAttribute('data-verdict'));
    }
    const shapes = new Set(
      [...document.querySelectorAll('#strip svg [data-mark=dot] path')].map((p) => p.getAttribute('d')),
    );
    expect(shapes.size).toBeGreaterThanOrEqual(4);
  });

  it('names a finding as a sentence of its own, before its reason', () => {
    const document = open(fakeMakersDay(42));
    const named = [...document.querySelectorAll('.because strong')];
    expect(named.length).toBeGreaterThan(10);
    for (const name of named) {
      expect(name.textContent).toMatch(/^\p{Lu}.*\.$/u);
      expect(name.nextSibling?.textContent).toMatch(/^ [^. ]/);
    }
  });

  it('has landmarks, one h1, no skipped heading level, captions and row headers', () => {
    const document = open(fakeMakersDay(42));
    for (const landmark of ['header', 'nav', 'main', 'footer'])
      expect(document.querySelectorAll(landmark)).toHaveLength(1);
    const levels = [...document.querySelectorAll('h1,h2,h3,h4')].map((h) => Number(h.tagName.slice(1)));
    expect(levels.filter((level) => level === 1)).toHaveLength(1);
    levels.slice(1).forEach((level, i) => {
      expect(level - (levels[i] ?? 0)).toBeLessThanOrEqual(1);
    });
    for (const table of document.querySelectorAll('table')) {
      expect(table.querySelector('caption')).not.toBeNull();
      expect(table.querySelectorAll('tr').length).toBe(table.querySelectorAll('th[scope=row]').length);
    }
    const ids = [...document.querySelectorAll('[id]')].map((element) => element.id);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('stands for a shoot without set-ups, findings or measured frames', () => {
    const document = open(fakeReport([{ name: 'gone.jpg', verdict: 'unreadable' }]));
    expect(document.querySelector('.big')?.textContent).toBe('0 of 1 frames are consistent');
    expect(document.querySelector('.frame')?.textContent).toContain('The image data ends early.');
  });
});

describe('the html template', () => {
  it('escapes text, keeps markup, joins lists and leaves nothing for null', () => {
    const inner = markup`<b>${'<&"\''}</b>`;
    expect(markup`<p>${inner}${[inner, 1]}${null}${undefined}${false}</p>`.text).toBe(
      '<p><b>&lt;&amp;&quot;&#39;</b><b>&lt;&amp;&quot;&#39;</b>1</p>',
    );
    expect(escapeHtml('a\u0000b\u202ec')).toBe('a\ufffdb\ufffdc');
  });
});
