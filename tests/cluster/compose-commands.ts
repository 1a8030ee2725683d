import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { z } from 'zod';

const ROOT = new URL('../../', import.meta.url);
export const PROJECT_FOLDER = fileURLToPath(ROOT);

const Service = z.object({
  command: z.array(z.string()).optional(),
  environment: z.record(z.string(), z.string()).default({}),
});
const Compose = z.object({ services: z.record(z.string(), Service) });

export interface Command {
  program: string;
  args: string[];
  environment: Record<string, string>;
}

/** `${NAME}`, `${NAME:-preset}` and `${NAME:?message}` as Compose reads them. */
const filledIn = (text: string, values: Readonly<Record<string, string>>): string =>
  text.replaceAll(/\$\{(\w+)(?::-([^}]*)|:\?[^}]*)?\}/g, (whole, name: string, preset: string | undefined) => {
    const value = values[name] ?? preset;
    if (value === undefined) throw new Error(`docker-compose.yml needs ${whole}`);
    return value;
  });

/** What the image runs unless told otherwise. */
function imageCommand(): string[] {
  const lines = readFileSync(new URL('Dockerfile', ROOT), 'utf8').split('\n');
  const last = lines.findLast((line) => line.startsWith('CMD '));
  if (last === undefined) throw new Error('the Dockerfile has no CMD');
  return z.array(z.string()).parse(JSON.parse(last.slice('CMD '.length)));
}

/**
 * What docker-compose.yml starts for a service: its command and environment, with the values of `.env` filled in.
 * The cluster runs these, so that what is tried here is what a machine with Docker would run.
 */
export function composeCommand(service: string, values: Readonly<Record<string, string>>): Command {
  const { services } = Compose.parse(parse(readFileSync(new URL('docker-compose.yml', ROOT), 'utf8'), { merge: true }));
  const found = services[service];
  if (found === undefined) throw new Error(`docker-compose.yml has no service ${service}`);
  const [program = '', ...args] = (found.command ?? imageCommand()).map((word) => filledIn(word, values));
  const environment = Object.entries(found.environment).map(([name, value]) => [name, filledIn(value, values)]);
  return { program, args, environment: Object.fromEntries(environment) as Record<string, string> };
}
