import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { cliMarkdown, manPage } from './commands/manual.js';
import { createProgram } from './commands/program.js';
import { processContext } from './commands/terminal.js';
import { VERSION } from './version.js';

/** `npm run docs`: writes docs/cli.md and man/stopledger.1 from the program itself. */
const program = createProgram(processContext(), () => undefined);
const at = (path: string): string => fileURLToPath(new URL(`../${path}`, import.meta.url));
for (const folder of ['docs', 'man']) mkdirSync(at(folder), { recursive: true });
writeFileSync(at('docs/cli.md'), cliMarkdown(program));
writeFileSync(at('man/stopledger.1'), manPage(program, VERSION));
