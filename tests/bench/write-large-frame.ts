import { writeFileSync } from 'node:fs';
import { bigFrame, LARGE } from './big-frame.js';

/** `write-large-frame.ts FILE`: 45 megapixels, made in a process of its own so that making it counts as nobody's memory. */
const [, , path] = process.argv;
if (path === undefined) throw new Error('write-large-frame.ts FILE');
writeFileSync(path, await bigFrame(LARGE));
