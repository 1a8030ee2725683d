import fc from 'fast-check';

/** The part of JSON Schema that the OpenAPI document uses. */
export interface JsonSchema {
  $ref?: string;
  type?: string | string[];
  enum?: unknown[];
  const?: unknown;
  anyOf?: JsonSchema[];
  oneOf?: JsonSchema[];
  allOf?: JsonSchema[];
  properties?: Record<string, JsonSchema>;
  required?: string[];
  items?: JsonSchema;
  pattern?: string;
  minimum?: number;
  maximum?: number;
  minLength?: number;
  maxLength?: number;
  minItems?: number;
}

const MOST_DEEP = 5;

/**
 * Values that are near a schema: mostly valid, now and then with a field left out, too many, or of another type; the
 * service has to answer all of them as its document says.
 */
export function valuesNear(schema: JsonSchema, resolve: (ref: string) => JsonSchema, depth = 0): fc.Arbitrary<unknown> {
  const near = valid(schema, resolve, depth);
  return depth > MOST_DEEP ? near : fc.oneof({ weight: 12, arbitrary: near }, { weight: 1, arbitrary: fc.jsonValue() });
}

function valid(schema: JsonSchema, resolve: (ref: string) => JsonSchema, depth: number): fc.Arbitrary<unknown> {
  const of = (inner: JsonSchema) => valuesNear(inner, resolve, depth + 1);
  if (schema.$ref !== undefined) return of(resolve(schema.$ref));
  if (schema.const !== undefined) return fc.constant(schema.const);
  if (schema.enum !== undefined) return fc.constantFrom(...schema.enum);
  const either = schema.anyOf ?? schema.oneOf;
  if (either !== undefined && either.length > 0) return fc.oneof(...either.map(of));
  if (schema.allOf !== undefined) return fc.tuple(...schema.allOf.map(of)).map((parts) => Object.assign({}, ...parts) as unknown); // prettier-ignore
  const type = Array.isArray(schema.type) ? schema.type[0] : schema.type;
  const { minimum = -1e6, maximum = 1e6 } = schema;
  switch (type) {
    case 'object': {
      const fields = Object.entries(schema.properties ?? {}).map(([name, inner]) => [name, of(inner)] as const);
      return fc.record(Object.fromEntries(fields), { requiredKeys: schema.required ?? [] });
    }
    case 'array':
      return fc.array(of(schema.items ?? {}), { minLength: schema.minItems ?? 0, maxLength: 3 });
    case 'integer':
      return fc.integer({ min: Math.ceil(minimum), max: Math.floor(maximum) });
    case 'number':
      return fc.double({ min: minimum, max: maximum, noNaN: true });
    case 'boolean':
      return fc.boolean();
    case 'null':
      return fc.constant(null);
    case 'string':
      if (schema.pattern !== undefined) return fc.stringMatching(new RegExp(schema.pattern));
      return fc.string({ unit: 'grapheme', minLength: schema.minLength ?? 0, maxLength: Math.min(schema.maxLength ?? 12, 12) }); // prettier-ignore
    default:
      return fc.jsonValue({ maxDepth: 2 });
  }
}
