import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { PUBLISHED_SCHEMAS, jsonSchemaText, type PublishedSchema } from './contracts/json-schemas.js';

/** `npm run schemas`: writes the published JSON Schemas into samples/schemas. */
const folder = fileURLToPath(new URL('../samples/schemas/', import.meta.url));
mkdirSync(folder, { recursive: true });
for (const name of Object.keys(PUBLISHED_SCHEMAS) as PublishedSchema[]) {
  writeFileSync(`${folder}${name}.schema.json`, jsonSchemaText(name));
}
