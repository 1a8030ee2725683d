import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setImmediate } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ShootReport } from '../../src/contracts/report.js';
import { newShoot, put, rawRequest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const SERVICE = fileURLToPath(new URL('../fixtures/pool/service-process.ts', import.meta.url));

interface Started {
  url: string;
  child: ChildProcess;
  kill(signal: NodeJS.Signals): Promise<number | null>;
}

/** The service as a process of its own, which can be killed as a power cut would. */
async function startProcess(dataDir: string, environment: Record<string, string> = {}): Promise<Started> {
  const child = spawn(process.execPath, ['--import', 'tsx', SERVICE], {
    env: { PATH: process.env.PATH, PORT: '0', DATA_DIR: dataDir, WORKERS: '2', SHUTDOWN_SECONDS: '30', ...environment },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  onTestFinished(() => {
    if (child.exitCode === null) child.kill('SIGKILL');
  });
  for await (const line of createInterface({ input: child.stdout })) {
    const { msg, url } = JSON.parse(line) as { msg: string; url?: string };
    if (msg !== 'listening' || url === undefined) continue;
    child.stdout.resume();
    return {
      url,
      child,
      async kill(signal) {
        const exited = once(child, 'exit') as Promise<[number | null]>;
        child.kill(signal);
        return (await exited)[0];
      },
    };
  }
  throw new Error('the service ended before it listened');
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

describe('the service killed', () => {
  it('right after it has answered 201 measures the frame when it is started again', async () => {
    const dataDir = temporaryFolder();
    const first = await startProcess(dataDir);
    const shoot = new URL(await newShoot(first.url)).pathname;
    // Both processes are kept busy, so that the last frame is surely waiting when the service dies.
    for (const name of ['busy 1.jpg', 'busy 2.jpg']) await put(first.url + shoot, name, `wait-for ${join(dataDir, 'gate')} ${name}`); // prettier-ignore
    expect((await put(first.url + shoot, 'last.jpg', 'measure')).status).toBe(201);
    await first.kill('SIGKILL');

    const second = await startProcess(dataDir);
    expect((await put(second.url + shoot, 'last.jpg', 'measure')).status).toBe(200);
    expect((await fetch(`${second.url}${shoot}/frames/last.jpg`)).status).not.toBe(404);
    writeFileSync(join(dataDir, 'gate'), '');
    await fetch(`${second.url}${shoot}/complete`, { method: 'POST' });
    const report = ShootReport.parse(await (await fetch(`${second.url}${shoot}/report?wait=60`)).json());
    expect(report.frames.map(({ name }) => name).sort()).toEqual(['busy 1.jpg', 'busy 2.jpg', 'last.jpg']);
    expect(report.summary.unreadable).toBe(0);
    expect(await second.kill('SIGTERM')).toBe(0);
  });

  it('in the middle of an upload keeps nothing of it', async () => {
    const dataDir = temporaryFolder();
    const first = await startProcess(dataDir);
    const shoot = new URL(await newShoot(first.url)).pathname;
    const head = `PUT ${shoot}/frames/x.jpg HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999\r\n\r\n`;
    const upload = rawRequest(first.url, [head, Buffer.alloc(3_000_000)], 'wait').catch(() => '');
    // The answer to a second request shows that the service has read from its sockets since.
    while (readdirSync(join(dataDir, 'incoming')).length === 0) await fetch(`${first.url}/healthz`);
    await first.kill('SIGKILL');
    await upload;

    const second = await startProcess(dataDir);
    expect(readdirSync(join(dataDir, 'incoming'))).toEqual([]);
    expect((await put(second.url + shoot, 'x.jpg', 'measure')).status).toBe(201);
    expect(await second.kill('SIGTERM')).toBe(0);
  });

  it('leaves no measuring process behind, not even one that hangs', async () => {
    const dataDir = temporaryFolder();
    const told = join(dataDir, 'told');
    const first = await startProcess(dataDir, { WORKERS: '1' });
    const shoot = await newShoot(first.url);
    await put(shoot, '1.jpg', `tell-env ${told}`);
    await fetch(`${shoot}/report?wait=60`);
    const { pid } = JSON.parse(readFileSync(told, 'utf8')) as { pid: number };
    await put(shoot, '2.jpg', 'hang');
    await first.kill('SIGKILL');
    // Ends when the process is gone; the test's own time limit is the one for a process that stays.
    while (isAlive(pid)) await setImmediate();
  });

  it('in order finds everything again', async () => {
    const dataDir = temporaryFolder();
    const first = await startProcess(dataDir);
    const shoot = new URL(await newShoot(first.url)).pathname;
    await put(first.url + shoot, 'x.jpg', 'measure');
    await fetch(`${first.url}${shoot}/report?wait=60`);
    expect(await first.kill('SIGTERM')).toBe(0);
    const second = await startProcess(dataDir);
    expect((await fetch(`${second.url}${shoot}/report`)).status).toBe(200);
    expect(await second.kill('SIGTERM')).toBe(0);
  });
});
