import { readFileSync, writeFileSync } from 'node:fs';
import { mkdir, readdir } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { send } from '../../src/commands/send.js';
import { ServiceClient } from '../../src/commands/service-client.js';
import { ShootStatus } from '../../src/contracts/api.js';
import { ShootReport } from '../../src/contracts/report.js';
import { recordingContext, runCli, startCli } from '../support/cli.js';
import { serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

async function shootFolder(files: Record<string, string>): Promise<string> {
  const folder = temporaryFolder();
  for (const [name, text] of Object.entries(files)) {
    await mkdir(join(folder, name, '..'), { recursive: true });
    writeFileSync(join(folder, name), text);
  }
  return folder;
}

describe('stopledger send', () => {
  it('has a folder measured by a running service and prints its report', async () => {
    const { url } = await serviceForTest();
    const folder = await shootFolder({
      'P2.jpg': 'two',
      'P10.jpg': 'ten',
      'a/P2.jpg': 'other',
      'bad.jpg': 'refuse frame-corrupt',
    });
    const context = recordingContext();
    const status = await send([folder], { to: url, json: true }, context);
    const report = ShootReport.parse(JSON.parse(context.out()));
    expect(report.frames.map((frame) => frame.name).sort()).toEqual(['P10.jpg', 'P2.jpg', 'a__P2.jpg', 'bad.jpg']);
    expect(report.frames.find((frame) => frame.name === 'bad.jpg')).toMatchObject({ verdict: 'unreadable' });
    expect(status).toBe(2);
    expect(context.err()).toBe('');
  });

  it('leaves report, table, page, measurements, previews and overlays in a folder', async () => {
    const { url } = await serviceForTest();
    const folder = await shootFolder({ 'P1.jpg': 'one', 'P1.tif': 'two', 'bad.jpg': 'refuse frame-truncated' });
    const out = join(temporaryFolder(), 'deep', 'report');
    const context = recordingContext();
    await send([folder], { to: url, out }, context);
    expect((await readdir(out)).sort()).toEqual([
      'frames.csv',
      'measurements',
      'overlays',
      'previews',
      'report.html',
      'report.json',
    ]);
    const report = ShootReport.parse(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')));
    const links = report.frames.map((frame) => [frame.name, frame.measurement]);
    expect(links).toEqual(
      expect.arrayContaining([
        ['P1.jpg', 'measurements/P1.jpg.json'],
        ['P1.tif', 'measurements/P1.tif.json'],
        ['bad.jpg', null],
      ]),
    );
    for (const [, link] of links) if (link) JSON.parse(readFileSync(join(out, link), 'utf8'));
    expect(await readdir(join(out, 'previews'))).toHaveLength(2);
    expect(await readdir(join(out, 'overlays'))).toHaveLength(2);
    expect(context.out()).toContain(out);
  });

  it('tells a file that the service will not take and goes on with the rest', async () => {
    const { url } = await serviceForTest({ MAX_FRAME_BYTES: '10' });
    const folder = await shootFolder({ 'large.jpg': 'x'.repeat(100), 'small.jpg': 'x' });
    const context = recordingContext();
    expect(await send([folder], { to: url, json: true }, context)).toBe(2);
    expect(ShootReport.parse(JSON.parse(context.out())).frames.map((frame) => frame.name)).toEqual(['small.jpg']);
    expect(context.err()).toMatch(/^not taken: large\.jpg: .*\(frame-too-large\)\n$/);
  });

  it('that ends early says which shoot it leaves and what to do with it', async () => {
    const { url } = await serviceForTest({ MAX_FRAMES_PER_SHOOT: '1' });
    const folder = await shootFolder({ 'P1.jpg': 'one', 'P2.jpg': 'two' });
    const ran = await runCli(['send', folder, '--to', url, '--quiet']);
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(/holds at most 1 frames/);
    const [, address = ''] = /POST to (\S+)\/complete has it judged as it is, DELETE removes it/.exec(ran.stderr) ?? [];
    expect(address).toMatch(new RegExp(`^${url}/v1/shoots/[0-9a-f]{32}$`));
    const { progress } = ShootStatus.parse(await (await fetch(address)).json());
    expect(progress.total).toBe(1);
    expect((await fetch(address, { method: 'DELETE' })).status).toBe(204);
  });

  it('asks for a token, takes it from the environment, and ends at once with a wrong one', async () => {
    const token = 'a-token-of-some-length';
    const { url } = await serviceForTest({ API_TOKENS: token });
    const folder = await shootFolder({ 'P1.jpg': 'one' });
    await expect(send([folder], { to: url }, recordingContext())).rejects.toMatchObject({ code: 'unauthorized' });
    await expect(send([folder], { to: url, token: 'not-the-right-token' }, recordingContext())).rejects.toMatchObject({
      code: 'unauthorized',
    });
    const context = recordingContext({ SERVICE_TOKEN: token });
    await send([folder], { to: url, json: true }, context);
    expect(ShootReport.parse(JSON.parse(context.out())).summary.frames).toBe(1);
  });

  it('ends with status 1 when there is no service', async () => {
    const folder = await shootFolder({ 'P1.jpg': 'one' });
    const server = createServer().listen(0, '127.0.0.1');
    await new Promise((resolve) => server.once('listening', resolve));
    const { port } = server.address() as AddressInfo;
    await new Promise((resolve) => server.close(resolve));
    const client = new ServiceClient({ to: `http://127.0.0.1:${port}`, attempts: 2, firstPauseMs: 1 });
    await expect(client.status('x')).rejects.toThrow(/no answer from the service/);
    const ran = await runCli(['send', folder, '--to', 'ftp://127.0.0.1']);
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(/--to: an address such as/);
  });

  it('stops cleanly on SIGINT while frames are being measured', async () => {
    const never = join(temporaryFolder(), 'never');
    const service = await serviceForTest();
    const folder = await shootFolder({ 'P1.jpg': `wait-for ${never}` });
    const cli = startCli(['send', folder, '--to', service.url]);
    await expect.poll(() => service.logged.some((line) => line.includes('/complete')), { timeout: 20_000 }).toBe(true);
    cli.kill('SIGINT');
    expect(await cli.ended).toMatchObject({
      status: 1,
      signal: null,
      stdout: '',
      stderr: 'stopped before the job was done\n',
    });
  });
});
