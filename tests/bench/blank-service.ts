import { runService } from '../../src/main.js';

/** The whole service, with a measuring process that measures nothing. */
await runService(process.env, { poolEntry: new URL('./blank-process.ts', import.meta.url) });
