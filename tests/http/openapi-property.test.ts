import { Validator } from '@seriousme/openapi-schema-validator';
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { openApiDocument } from '../../src/api/openapi.js';
import { valuesNear, type JsonSchema } from '../support/schema-values.js';
import { serviceForFile } from '../support/service.js';

interface Operation {
  operationId: string;
  parameters?: { name: string; in: string; schema: JsonSchema }[];
  requestBody?: { content: Record<string, { schema: JsonSchema }> };
  responses: Record<string, { content?: Record<string, { schema: JsonSchema }> }>;
}
interface Document {
  paths: Record<string, Record<string, Operation>>;
  components: { schemas: Record<string, JsonSchema> };
}

const TOKEN = 'a-token-for-these-tests';
const running = serviceForFile({ API_TOKENS: TOKEN, MAX_WAIT_SECONDS: '1' });
const document = JSON.parse(JSON.stringify(openApiDocument('1.2.3'))) as Document;
const operations = Object.entries(document.paths).flatMap(([path, methods]) =>
  Object.entries(methods).map(([method, operation]) => ({ path, method: method.toUpperCase(), operation })),
);
const resolve = (ref: string): JsonSchema => document.components.schemas[ref.split('/').at(-1) ?? ''] ?? {};

const ajv = new Ajv2020({ strict: false, validateFormats: false });
ajv.addSchema({ $id: 'https://document.example/', components: document.components });
const absolute = (schema: JsonSchema): object =>
  JSON.parse(JSON.stringify(schema).replaceAll('"#/components', '"https://document.example/#/components')) as object;

const authorized = { authorization: `Bearer ${TOKEN}` };
const call = (path: string, init: RequestInit = {}) =>
  fetch(running().url + path, { ...init, headers: { ...authorized, ...(init.headers as Record<string, string>) } });

async function newShoot(): Promise<string> {
  const answer = await call('/v1/shoots', {
    method: 'POST',
    body: '{"name":"Hall"}',
    headers: { 'content-type': 'application/json' },
  });
  return ((await answer.json()) as { id: string }).id;
}

const FRAMES = ['P1.jpg', 'Nächste Aufnahme.jpg', 'broken.jpg'];
let open = '';
let ready = '';

beforeAll(async () => {
  [open, ready] = await Promise.all([newShoot(), newShoot()]);
  for (const id of [open, ready]) {
    for (const name of FRAMES) {
      const body = name === 'broken.jpg' ? 'refuse frame-corrupt' : `measure ${name}`;
      await call(`/v1/shoots/${id}/frames/${encodeURIComponent(name)}`, { method: 'PUT', body });
    }
  }
  await call(`/v1/shoots/${ready}/complete`, { method: 'POST' });
  await (await call(`/v1/shoots/${ready}/events`)).text();
});

describe('the OpenAPI document, by a validator of others', () => {
  it('is valid OpenAPI 3.1', async () => {
    const validator = new Validator();
    expect(await validator.validate({ ...document })).toMatchObject({ valid: true });
    expect(validator.version).toBe('3.1');
  });

  it('that validator can say no', async () => {
    const { paths, ...without } = document;
    expect(paths).toBeDefined();
    expect((await new Validator().validate({ ...without, info: {} })).valid).toBe(false);
  });
});

/** Any text that can stand in an address as one part of a path. */
const part = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 40 }).filter((text) => !/^\.{1,2}$/.test(text));
const codes = fc.constantFrom('internal', 'bad-plan', 'no-such-code');

function bodies(operation: Operation): fc.Arbitrary<{ type: string | null; body: BodyInit | null }> {
  const types = Object.entries(operation.requestBody?.content ?? {});
  const wrong = fc.constantFrom(
    { type: 'text/plain', body: 'words' },
    { type: 'application/json', body: '{"name":' },
    { type: 'application/json', body: '[]' },
    { type: 'multipart/form-data; boundary=x', body: '--x\r\nno headers' },
    { type: null, body: null },
  );
  const right = types.map(([type, { schema }]): fc.Arbitrary<{ type: string | null; body: BodyInit | null }> => {
    if (type === 'application/json') return valuesNear(schema, resolve).map((value) => ({ type, body: JSON.stringify(value) })); // prettier-ignore
    const content = fc.uint8Array({ maxLength: 64 }).map((bytes) => new Uint8Array(bytes));
    if (type !== 'multipart/form-data') return content.map((bytes) => ({ type, body: bytes }));
    return fc.array(fc.tuple(part, content), { maxLength: 3 }).map((files) => {
      const form = new FormData();
      for (const [name, bytes] of files) form.append('file', new Blob([bytes]), name);
      return { type: null, body: form };
    });
  });
  if (right.length === 0) return fc.constant({ type: null, body: null });
  return fc.oneof({ weight: 4, arbitrary: fc.oneof(...right) }, { weight: 1, arbitrary: wrong });
}

function requests(path: string, operation: Operation) {
  const accepted = Object.values(operation.responses).flatMap(({ content }) => Object.keys(content ?? {}));
  const query = (operation.parameters ?? []).filter((one) => one.in === 'query');
  return fc.record({
    id: fc.oneof(fc.constantFrom(() => open, () => ready), fc.constantFrom(() => 'f'.repeat(32)), part.map((text) => () => text)), // prettier-ignore
    name: path.includes('{code}') ? codes : fc.oneof(fc.constantFrom(...FRAMES, 'new.jpg'), part),
    query: fc.record(
      Object.fromEntries(
        query.map(({ name, schema }) => {
          const given = name === 'wait' ? fc.constantFrom(0, 0.01, 2, -1) : valuesNear(schema, resolve);
          return [name, fc.oneof(given.map(String), fc.string({ unit: 'grapheme', maxLength: 4 }))];
        }),
      ),
      { requiredKeys: [] },
    ),
    accept: fc.constantFrom('*/*', ...accepted, 'image/x-none', 'text/*;q=0.1'),
    authorization: fc.oneof({ weight: 9, arbitrary: fc.constant(`Bearer ${TOKEN}`) }, { weight: 1, arbitrary: fc.constant(null) }), // prettier-ignore
    content: bodies(operation),
  });
}

describe('every address answers as the document says, whatever it is asked', () => {
  it.each(operations.map(({ method, path, operation }) => [`${method} ${path}`, { method, path, operation }] as const))(
    '%s',
    { timeout: 60_000 },
    async (_, { method, path, operation }) => {
      await fc.assert(
        fc.asyncProperty(requests(path, operation), async ({ id, name, query, accept, authorization, content }) => {
          // What an operation uses up is made anew for it.
          const usesUp = operation.operationId === 'deleteShoot' || operation.operationId === 'completeShoot';
          const shootId = usesUp && id() === open ? await newShoot() : id();
          const address = path
            .replace('{id}', encodeURIComponent(shootId))
            .replace(/\{(name|code)\}/, () => encodeURIComponent(name));
          const asked = new URLSearchParams(Object.entries(query).map(([key, value]) => [key, value ?? ''])).toString();
          const stop = new AbortController();
          const response = await fetch(`${running().url}${address}${asked === '' ? '' : `?${asked}`}`, {
            method,
            headers: {
              accept,
              ...(authorization === null ? {} : { authorization }),
              ...(content.type === null ? {} : { 'content-type': content.type }),
            },
            signal: stop.signal,
            ...(content.body === null ? {} : { body: content.body }),
          });
          const described = operation.responses[String(response.status)];
          expect(Object.keys(operation.responses), await told(response)).toContain(String(response.status));
          const type = response.headers.get('content-type')?.split(';')[0] ?? null;
          const types = Object.keys(described?.content ?? {});
          if (type === 'text/event-stream') {
            expect(types).toContain(type);
            stop.abort();
            return;
          }
          const body = Buffer.from(await response.arrayBuffer());
          if (types.length === 0) {
            expect(body.length).toBe(0);
            return;
          }
          expect(types, `${response.status} as ${type ?? 'nothing'}`).toContain(type);
          const schema = described?.content?.[type ?? '']?.schema;
          if (type?.endsWith('json') === true && schema !== undefined) {
            const valid = ajv.compile(absolute(schema));
            expect(valid(JSON.parse(body.toString('utf8'))), JSON.stringify(valid.errors)).toBe(true);
          }
        }),
        { seed: 20260516, numRuns: 60, endOnFailure: true },
      );
    },
  );
});

/** For the message of a failure. */
async function told(response: Response): Promise<string> {
  const type = response.headers.get('content-type') ?? '';
  return type.includes('json') ? await response.clone().text() : `${response.status} ${type}`;
}
