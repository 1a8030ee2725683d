import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import { newShoot, put, serviceForTest } from '../support/service.js';

const TOKEN = 'a-token-for-this-test';
const AUTHORISED = { authorization: `Bearer ${TOKEN}` };

interface ServedPage {
  policy: string;
  document: Document;
  /** Addresses of all pictures. */
  sources: string[];
}

async function pageOf(shoot: string, headers: Record<string, string> = {}): Promise<ServedPage> {
  const response = await fetch(`${shoot}/report?wait=60`, { headers: { accept: 'text/html', ...headers } });
  expect(response.status).toBe(200);
  const { document } = parseHTML(await response.text());
  return {
    policy: response.headers.get('content-security-policy') ?? '',
    document,
    sources: [...document.querySelectorAll('.frame img')].map((img) => img.getAttribute('src') ?? ''),
  };
}

const picturePolicy = (policy: string): string | undefined => /img-src ([^;]*)/.exec(policy)?.[1]?.trim();

describe('the page that the service sends', () => {
  it('with a token: is refused without it, and then holds its pictures, since it cannot fetch any', async () => {
    const service = await serviceForTest({ API_TOKENS: TOKEN });
    const opened = await fetch(`${service.url}/v1/shoots`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', ...AUTHORISED },
      body: JSON.stringify({ name: 'Hall' }),
    });
    const { id } = (await opened.json()) as { id: string };
    const shoot = `${service.url}/v1/shoots/${id}`;
    for (const name of ['1.jpg', '2.jpg']) await put(shoot, name, `measure ${name}`, AUTHORISED);
    expect((await fetch(`${shoot}/report`, { headers: { accept: 'text/html' } })).status).toBe(401);
    const { policy, sources, document } = await pageOf(shoot, AUTHORISED);
    expect(sources.length).toBeGreaterThanOrEqual(2);
    for (const source of sources) expect(source).toMatch(/^data:image\/jpeg;base64,/);
    expect(picturePolicy(policy)).toBe('data:');
    expect(document.querySelector('.pictures-note')).toBeNull();
    expect(document.documentElement.outerHTML).not.toContain(TOKEN);
  });

  it('of more than 600 frames: fetches previews as they come into view; with a token it says that it has none', async () => {
    const service = await serviceForTest();
    const shoot = await newShoot(service.url);
    const names = Array.from({ length: 601 }, (_, i) => `F${String(i + 1).padStart(4, '0')}.jpg`);
    const add = async (from: number): Promise<void> => {
      for (const name of names.slice(from)) {
        if (names.indexOf(name) % 8 === from) expect((await put(shoot, name, `measure ${name}`)).status).toBe(201);
      }
    };
    await Promise.all([0, 1, 2, 3, 4, 5, 6, 7].map(add));
    const open = await pageOf(shoot);
    expect(open.sources).toHaveLength(601);
    const { pathname } = new URL(shoot);
    expect([...open.sources].sort()).toEqual(names.map((name) => `${pathname}/frames/${name}/preview`));
    for (const img of open.document.querySelectorAll('.frame img')) expect(img.getAttribute('loading')).toBe('lazy');
    expect(picturePolicy(open.policy)).toBe("data: 'self'");
    expect(open.document.querySelector('.pictures-note')).toBeNull();
    const preview = await fetch(new URL(open.sources[600] ?? '', service.url));
    expect([preview.status, preview.headers.get('content-type')]).toEqual([200, 'image/jpeg']);

    const closed = await pageOf(shoot, { authorization: 'Bearer any' });
    expect(closed.sources).toEqual([]);
    expect(closed.document.querySelectorAll('.frame')).toHaveLength(601);
    expect(picturePolicy(closed.policy)).toBe('data:');
    expect(closed.document.querySelector('.pictures-note')?.textContent).toContain('more than 600 frames');
  }, 120_000);
});
