#!/usr/bin/env node
import { existsSync } from 'node:fs';
import { URL } from 'node:url';

const built = new URL('../dist/src/cli.js', import.meta.url);
if (existsSync(built)) {
  await import(built.href);
} else {
  const { register } = await import('tsx/esm/api');
  register();
  await import(new URL('../src/cli.ts', import.meta.url).href);
}
