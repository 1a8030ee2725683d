import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, expectTypeOf, it, onTestFinished, vi } from 'vitest';
import type * as client from '../../samples/ingest/client.js';
import { StopledgerClient } from '../../samples/ingest/client.js';
import { openApiDocument } from '../../src/api/openapi.js';
import type { FrameEvent, FrameReceipt, ShootStatus } from '../../src/contracts/api.js';
import { IMAGE_EXTENSIONS } from '../../src/commands/find-frames.js';
import type { ShootReport } from '../../src/contracts/report.js';
import { REPOSITORY } from '../support/cli.js';
import { serviceForFile } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

interface Operation {
  parameters?: { in: string; name: string }[];
  requestBody?: { content: Record<string, unknown> };
  responses: Record<string, { content?: Record<string, { schema?: object }> }>;
}
/** What is read of `GET /openapi.json`. */
interface ServedDocument {
  components: object;
  paths: Record<string, Record<string, Operation | undefined> & { parameters?: { in: string; name: string }[] }>;
}

const TOKEN = 'a-token-for-these-tests';
const running = serviceForFile({ API_TOKENS: TOKEN });
const INGEST = join(REPOSITORY, 'samples', 'ingest');

/** Runs a sample; the service it talks to lives in this process, so this waits without blocking. */
function run(command: string[], env: Record<string, string> = {}): Promise<{ status: number | null; out: string; err: string }> {
  const [file = '', ...args] = command;
  const child = spawn(file, args, {
    cwd: REPOSITORY,
    env: { PATH: process.env['PATH'], SERVICE: running().url, TOKEN, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let [out, err] = ['', ''];
  child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
  child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
  return new Promise((resolve) => child.on('close', (status) => { resolve({ status, out, err }); }));
} // prettier-ignore

function folderOf(files: Record<string, string>): string {
  const folder = join(temporaryFolder(), 'Hall "one"');
  mkdirSync(folder);
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
  return folder;
}
const FRAMES = { 'P1.jpg': 'measure 1', 'Größe 100%.JPG': 'measure 2', 'notes.txt': 'no frame' };

const SAMPLES = [
  ['ingest.sh', (folder: string, report: string) => ['sh', join(INGEST, 'ingest.sh'), folder, report]],
  ['ingest.ts', (folder: string) => [process.execPath, '--import', 'tsx', join(INGEST, 'ingest.ts'), folder]],
] as const;

describe.each(SAMPLES)('%s, against the real service', (name, command) => {
  it('sends, waits, says what came of it; the second run changes nothing', { timeout: 60_000 }, async () => {
    const folder = folderOf(FRAMES);
    const report = join(temporaryFolder(), 'report.json');
    const first = await run(command(folder, report));
    expect(first).toMatchObject({ err: '' });
    expect([0, 2]).toContain(first.status);
    const id = readFileSync(join(folder, '.stopledger-shoot'), 'utf8').trim();
    const asked = await fetch(`${running().url}/v1/shoots/${id}/report`, { headers: { authorization: `Bearer ${TOKEN}` } });
    const served = (await asked.json()) as ShootReport;
    expect(served.frames.map((frame) => frame.name).sort()).toEqual(['Größe 100%.JPG', 'P1.jpg']);
    expect(first.status).toBe(served.summary.consistent === served.summary.frames ? 0 : 2);
    if (name === 'ingest.sh') expect(JSON.parse(readFileSync(report, 'utf8'))).toEqual(served);
    expect(await run(command(folder, report))).toMatchObject({ status: first.status, err: '' });
    expect(readFileSync(join(folder, '.stopledger-shoot'), 'utf8').trim()).toBe(id);
  }); // prettier-ignore

  it('ends with 2 when a frame cannot be measured, with 1 and the reason for a wrong token', { timeout: 60_000 }, async () => {
    const folder = folderOf({ 'P1.jpg': 'refuse frame-corrupt' });
    const report = join(temporaryFolder(), 'report.json');
    expect((await run(command(folder, report))).status).toBe(2);
    const refused = await run(command(folderOf(FRAMES), report), { TOKEN: 'wrong' });
    expect(refused.status).toBe(1);
    expect(refused.err).toMatch(/token/);
  }); // prettier-ignore

  it('sends every kind of image that the command line takes, and says how many files it leaves out', { timeout: 60_000 }, async () => {
    const folder = folderOf({ 'P1.TIFF': 'measure 1', 'P2.webp': 'measure 2', 'P3.Orf': 'measure 3', 'P1.xmp': '', jpg: '' });
    const ran = await run(command(folder, join(temporaryFolder(), 'report.json')));
    expect(ran.out).toContain('not sent, since they are no images: 2 files');
    const id = readFileSync(join(folder, '.stopledger-shoot'), 'utf8').trim();
    const asked = await fetch(`${running().url}/v1/shoots/${id}`, { headers: { authorization: `Bearer ${TOKEN}` } });
    expect(await asked.json()).toMatchObject({ progress: { total: 3 } });
  }); // prettier-ignore

  it('ends with 1 where it is used wrongly and makes no shoot then; says what to do where the shoot is gone', { timeout: 60_000 }, async () => {
    const made = () => running().logged.filter((line) => line.includes('"shoot created"')).length;
    const before = made();
    const report = join(temporaryFolder(), 'report.json');
    for (const given of [command('', '').slice(0, name === 'ingest.sh' ? 2 : 4), command(join(report, 'nowhere'), report)]) {
      const ran = await run(given);
      expect(ran.status).toBe(1);
      expect(ran.err).not.toBe('');
    }
    expect(made()).toBe(before);
    const gone = folderOf({ 'P1.jpg': 'measure 1', '.stopledger-shoot': 'f'.repeat(32) });
    const ran = await run(command(gone, report));
    expect(ran.status).toBe(1);
    expect(ran.err).toMatch(/there is no shoot ['"]f{32}['"]/);
    expect(ran.err).toMatch(/remove .*\.stopledger-shoot/);
  }); // prettier-ignore
});

describe('the samples themselves', () => {
  it.each(['ingest.sh', 'ingest.ts'])('%s takes what the command line takes', (name) => {
    const text = readFileSync(join(INGEST, name), 'utf8');
    const listed = /jpg jpeg [a-z0-9\s'+]+x3f/.exec(text)?.[0].match(/[a-z0-9]+/g) ?? [];
    expect(listed.map((ending) => `.${ending}`)).toEqual([...IMAGE_EXTENSIONS]);
  });

  it('ingest.sh is POSIX sh', () => {
    expect(spawnSync('sh', ['-n', join(INGEST, 'ingest.sh')], { encoding: 'utf8' })).toMatchObject({ status: 0, stderr: '' }); // prettier-ignore
  });

  it('the client’s types are those of the contracts', () => {
    expectTypeOf<ShootStatus>().toExtend<client.ShootStatus>();
    expectTypeOf<FrameReceipt>().toExtend<client.FrameReceipt>();
    expectTypeOf<ShootReport>().toExtend<client.Report>();
    expectTypeOf<FrameEvent>().toExtend<Extract<client.ShootEvent, { event: 'frame' }>['data']>();
  });

  it('every event is as the OpenAPI document describes it', async () => {
    const { components } = openApiDocument('1') as { components: { schemas: Record<string, object> } };
    const ajv = new Ajv2020({ strict: false }).addSchema({ $id: 'https://document.example/', components });
    const check = (schema: string, value: unknown) =>
      ajv.validate({ $ref: `https://document.example/#/components/schemas/${schema}` }, value);
    const service = new StopledgerClient(running().url, TOKEN);
    const { id } = await service.createShoot('Hall');
    await service.putFrame(id, 'P1.jpg', new TextEncoder().encode('measure'));
    await service.complete(id);
    const kinds: string[] = [];
    for await (const { event, data } of service.events(id)) {
      kinds.push(event);
      expect(check(event === 'frame' ? 'FrameEvent' : 'ShootStatus', data), `${event} ${JSON.stringify(data)}`).toBe(true);
    }
    expect(kinds[0]).toBe('progress');
    expect(kinds.at(-1)).toBe('ready');
  }); // prettier-ignore

  it('every call of the client, and every answer it gets, stands in the document that the service serves', async () => {
    const served = (await (await fetch(`${running().url}/openapi.json`)).json()) as ServedDocument;
    const ajv = new Ajv2020({ strict: false, allErrors: true }).addSchema({ $id: 'https://served.example/', components: served.components });
    const calls: { method: string; url: URL; headers: Headers; status: number; type: string; body: unknown }[] = [];
    const real = globalThis.fetch;
    const spy = vi.spyOn(globalThis, 'fetch').mockImplementation(async (input, init) => {
      const response = await real(input, init);
      const type = response.headers.get('content-type')?.split(';')[0] ?? '';
      const body: unknown = type.endsWith('json') ? await response.clone().json() : null;
      calls.push({ method: (init?.method ?? 'GET').toLowerCase(), url: new URL(input instanceof Request ? input.url : input), headers: new Headers(init?.headers), status: response.status, type, body });
      return response;
    });
    onTestFinished(() => { spy.mockRestore(); });
    const service = new StopledgerClient(running().url, TOKEN);
    const { id } = await service.createShoot('Hall');
    await service.putFrame(id, 'Größe 1.jpg', new TextEncoder().encode('measure'));
    await service.putFrame(id, 'Größe 1.jpg', new TextEncoder().encode('measure'));
    await expect(service.putFrame(id, 'Größe 1.jpg', new TextEncoder().encode('other'))).rejects.toThrow();
    await service.complete(id);
    for await (const event of service.events(id)) expect(event.event).not.toBe('gone');
    await service.report(id);

    const operations = new Set<string>();
    for (const { method, url, headers, status, type, body } of calls) {
      const [template, path] = Object.entries(served.paths).find(([one]) =>
        new RegExp(`^${one.replaceAll(/\{[^}]+\}/g, '[^/]+')}$`).test(url.pathname)) ?? ['', null];
      const operation = path?.[method];
      const what = `${method} ${url.pathname} ${status}`;
      expect(operation, what).toBeDefined();
      operations.add(`${method} ${template}`);
      const parameters = [...(path?.parameters ?? []), ...(operation?.parameters ?? [])];
      for (const name of url.searchParams.keys()) expect(parameters, what).toContainEqual(expect.objectContaining({ in: 'query', name }));
      const sent = headers.get('content-type');
      if (sent !== null) expect(Object.keys(operation?.requestBody?.content ?? {}), what).toContain(sent);
      const answer = operation?.responses[String(status)] ?? operation?.responses['default'];
      expect(answer, what).toBeDefined();
      const content = answer?.content?.[type];
      expect(content, `${what} ${type}`).toBeDefined();
      if (body === null) continue;
      const schema = JSON.parse(JSON.stringify(content?.schema).replaceAll('"#/components/', '"https://served.example/#/components/')) as object;
      expect(ajv.validate(schema, body), `${what} ${ajv.errorsText()}`).toBe(true);
    }
    expect([...operations].sort()).toEqual([
      'get /v1/shoots/{id}/events',
      'get /v1/shoots/{id}/report',
      'post /v1/shoots',
      'post /v1/shoots/{id}/complete',
      'put /v1/shoots/{id}/frames/{name}',
    ]);
    expect(calls.map(({ status }) => status)).toEqual(expect.arrayContaining([200, 201, 409]));
  }); // prettier-ignore
});
