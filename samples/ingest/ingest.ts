/**
 * Sends a folder of frames to a stopledger service and follows it until the report is there:
 *
 *   SERVICE=http://127.0.0.1:4180 TOKEN=... npx tsx ingest.ts FOLDER
 *
 * Safe to run again: the id of the shoot is kept in FOLDER/.stopledger-shoot. Exit status: 0 all frames are consistent,
 * 2 something is flagged or was not taken, 1 the job could not be done.
 */
import { readFile, readdir, writeFile } from 'node:fs/promises';
import { basename, extname, join, resolve } from 'node:path';
import { ServiceProblem, StopledgerClient } from './client.js';

/** What stopledger itself takes from folders. */
const ENDINGS = new Set(
  (
    'jpg jpeg jpe jfif png tif tiff webp avif gif heic heif hif ' +
    '3fr arw cr2 cr3 crw dcr dng erf fff iiq kdc mef mos mrw nef nrw orf pef raf raw rw2 rwl sr2 srf srw x3f'
  )
    .split(' ')
    .map((ending) => `.${ending}`),
);

async function ingest(folder: string): Promise<0 | 2> {
  const client = new StopledgerClient(process.env['SERVICE'] ?? 'http://127.0.0.1:4180', process.env['TOKEN']);
  const idFile = join(folder, '.stopledger-shoot');
  // Before a shoot is made: a folder that is not there leaves none behind.
  const files = (await readdir(folder, { withFileTypes: true })).filter((one) => one.isFile() && one.name[0] !== '.');
  const names = files.map(({ name }) => name).filter((name) => ENDINGS.has(extname(name).toLowerCase()));
  if (names.length < files.length) {
    console.log(`not sent, since they are no images: ${files.length - names.length} files`);
  }
  let id = (await readFile(idFile, 'utf8').catch(() => '')).trim();
  if (id === '') {
    id = (await client.createShoot(basename(resolve(folder)))).id;
    await writeFile(idFile, `${id}\n`);
  }
  let refused = 0;
  for (const name of names.sort()) {
    try {
      await client.putFrame(id, name, new Uint8Array(await readFile(join(folder, name))));
    } catch (error) {
      // One file that is not taken (another one of its name, too large, a complete shoot) is told; the others go on.
      if (!(error instanceof ServiceProblem) || error.retryable || [401, 403, 404].includes(error.status)) throw error;
      console.error(`not taken: ${name}: ${error.message} (${error.code})`);
      refused += 1;
    }
  }
  await client.complete(id);
  for await (const { event, data } of client.events(id)) {
    if (event === 'frame')
      console.log(`${data.name}: ${data.state}, ${data.progress.measured} of ${data.progress.total}`);
  }
  const { frames, summary } = await client.report(id);
  for (const { name, verdict, toBaselineStops } of frames) {
    if (verdict !== 'consistent')
      console.log(`${name}: ${verdict}, add ${toBaselineStops?.toFixed(2) ?? 'unknown'} stops`);
  }
  for (const finding of summary.findings) console.log(finding);
  return refused > 0 || summary.consistent < summary.frames ? 2 : 0;
}

try {
  const folder = process.argv[2];
  if (folder === undefined) throw new Error('usage: ingest.ts FOLDER');
  process.exitCode = await ingest(folder);
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
  if (error instanceof ServiceProblem && error.code === 'shoot-not-found') {
    console.error('to send the folder as a new shoot, remove .stopledger-shoot in it');
  }
  process.exitCode = 1;
}
