import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { SETTINGS } from '../../src/config.js';
import { PUBLISHED_SCHEMAS, jsonSchemaText, type PublishedSchema } from '../../src/contracts/json-schemas.js';
import { FRAME_COLUMNS, framesCsvColumnsText } from '../../src/render/csv.js';
import { fakeMeasurement } from '../support/measurement.js';
import { REPOSITORY } from '../support/cli.js';

const read = (...path: string[]): string => readFileSync(join(REPOSITORY, ...path), 'utf8');
const names = Object.keys(PUBLISHED_SCHEMAS) as PublishedSchema[];

describe('published JSON Schemas', () => {
  it.each(names)('%s: the file is what the contract says (npm run schemas)', (name) => {
    expect(read('samples', 'schemas', `${name}.schema.json`)).toBe(jsonSchemaText(name));
  });

  it.each(names)('%s is a schema that an independent validator takes', (name) => {
    expect(new Ajv2020({ strict: false }).compile(JSON.parse(jsonSchemaText(name)) as object)).toBeTypeOf('function');
  });

  it('an independent validator takes the sample plan and a measurement, and refuses wrong ones', () => {
    const check = (name: PublishedSchema, value: unknown) =>
      new Ajv2020({ strict: false }).validate(JSON.parse(jsonSchemaText(name)) as object, value);
    const plan = JSON.parse(read('samples', 'plan.json')) as object;
    expect(check('shoot-plan', plan)).toBe(true);
    expect(check('shoot-plan', { ...plan, toleranceStops: -1 })).toBe(false);
    expect(check('shoot-plan', { ...plan, tolerance: 1 })).toBe(false);
    const measurement = fakeMeasurement();
    expect(check('frame-measurement', measurement)).toBe(true);
    expect(check('frame-measurement', { ...measurement, encoding: 'film' })).toBe(false);
  });
});

it('the README lists every setting with its meaning, and no other', () => {
  const rows = [...read('README.md').matchAll(/^\| `([A-Z0-9_]+)` +\| .*? +\| (.*?) +\|$/gm)].map((m) => [m[1], m[2]]);
  expect(rows).toEqual(Object.entries(SETTINGS).map(([name, { about }]) => [name, about]));
});

it('the columns of frames.csv are documented, each with what stands in it (npm run schemas)', () => {
  expect(read('samples', 'schemas', 'frames-csv.md')).toBe(framesCsvColumnsText());
  for (const { name, about } of FRAME_COLUMNS) {
    expect(about, name).not.toBe('');
    // Numbers say their unit in the name, or in the words.
    if (/level|deviation|lift/i.test(name) && !/limitedBy/i.test(name)) expect(name).toMatch(/Stops$/);
  }
  expect(new Set(FRAME_COLUMNS.map(({ name }) => name)).size).toBe(FRAME_COLUMNS.length);
});

it('the package holds what it publishes and what it runs, and no tests', () => {
  const { files } = JSON.parse(read('package.json')) as { files: string[] };
  expect(files).toEqual(['bin', 'dist', 'docs', 'man', 'samples/plan.json', 'samples/schemas']);
});
