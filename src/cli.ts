import { main } from './commands/program.js';
import { processContext } from './commands/terminal.js';

process.exitCode = await main(process.argv.slice(2), processContext());
