import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { framesCsvColumnsText } from './render/csv.js';
import { PUBLISHED_SCHEMAS, jsonSchemaText, type PublishedSchema } from './contracts/json-schemas.js';

/** `npm run schemas`: writes the published JSON Schemas and the columns of frames.csv into samples/schemas. */
const folder = fileURLToPath(new URL('../samples/schemas/', import.meta.url));
mkdirSync(folder, { recursive: true });
for (const name of Object.keys(PUBLISHED_SCHEMAS) as PublishedSchema[]) {
  writeFileSync(`${folder}${name}.schema.json`, jsonSchemaText(name));
}
writeFileSync(`${folder}frames-csv.md`, framesCsvColumnsText());
