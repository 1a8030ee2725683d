import { spawn } from 'node:child_process';
import { appendFileSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const FRAMES = 12;
const PIECES = 8;

/** Seconds from the last byte of a frame to its line, the command line as a process; written in pieces one by one. */
export async function watchBench(): Promise<void> {
  const shoot = fileURLToPath(new URL('../../samples/shoot/', import.meta.url));
  const root = mkdtempSync(join(tmpdir(), 'stopledger-bench-'));
  const dir = join(root, 'in');
  mkdirSync(dir);
  const child = spawn(process.execPath, ['--import', 'tsx', 'src/cli.ts', 'watch', dir, '--json'], {
    cwd: fileURLToPath(new URL('../../', import.meta.url)),
    env: { ...process.env, XDG_STATE_HOME: join(root, 'state'), WORKERS: '1' },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const until = async (found: (event: { event: string; frame?: { name: string } }) => boolean): Promise<void> => {
    for (;;) {
      const line = await lines.next();
      if (line.done === true) throw new Error('watch ended early');
      if (found(JSON.parse(line.value) as { event: string; frame?: { name: string } })) return;
    }
  };
  try {
    await until(({ event }) => event === 'start');
    const seconds: number[] = [];
    for (const name of readdirSync(shoot).sort().slice(0, FRAMES)) {
      const bytes = readFileSync(join(shoot, name));
      const step = Math.ceil(bytes.length / PIECES);
      for (let at = 0; at < bytes.length; at += step) {
        appendFileSync(join(dir, name), bytes.subarray(at, at + step));
        await new Promise((resolve) => setTimeout(resolve, 40));
      }
      const lastByteMs = performance.now() - 40;
      await until(({ event, frame }) => event === 'frame' && frame?.name === name);
      seconds.push((performance.now() - lastByteMs) / 1000);
    }
    // The first one waits for the models to be loaded.
    const warm = seconds.slice(1).sort((a, b) => a - b);
    console.log(
      `\nwatch: last byte of a frame to its line, ${FRAMES} frames of 0.5 to 0.6 megapixels in ${PIECES} pieces`,
    );
    console.log(`  median ${warm[Math.floor(warm.length / 2)]?.toFixed(2)} s, worst ${warm.at(-1)?.toFixed(2)} s; the first, models loading, ${seconds[0]?.toFixed(2)} s`); // prettier-ignore
  } finally {
    const ended = new Promise((resolve) => child.on('close', resolve));
    child.kill('SIGINT');
    await ended;
    rmSync(root, { recursive: true, force: true });
  }
}
