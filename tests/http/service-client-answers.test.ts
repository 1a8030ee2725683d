import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import { type ClientRequest, type IncomingMessage, type ServerResponse, request } from 'node:http';
import { createServer as createSecureServer } from 'node:https';
import { type AddressInfo, type Socket } from 'node:net';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ServiceClient } from '../../src/commands/service-client.js';
import { ShootReport } from '../../src/contracts/report.js';
import { runCli } from '../support/cli.js';
import { newShoot, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';
import {
  OPENSSL,
  MUCH_BYTES,
  receipt,
  problem,
  fileOf,
  served,
  bare,
  json,
  jsonText,
} from '../support/receiving-servers.js';

describe('a service that answers or leaves while a file is being sent', () => {
  it('refuses before any of it came: none is sent, to the service itself and to another that is asked', async () => {
    const { url } = await serviceForTest({ MAX_FRAME_BYTES: '1000' });
    const shootId = (await newShoot(url)).split('/').at(-1)!;
    const client = new ServiceClient({ to: url });
    const path = fileOf(Buffer.alloc(MUCH_BYTES));
    await expect(client.putFrame(shootId, 'a.jpg', path)).rejects.toMatchObject({ code: 'frame-too-large' });
    client.close();

    let bodyBytes = 0;
    const strict = await served(() => undefined, {}, (request, response) => {
      request.on('data', (chunk: Buffer) => (bodyBytes += chunk.byteLength));
      json(response, 401, problem('unauthorized', 401, false));
    }); // prettier-ignore
    await expect(strict.client.putFrame('s', 'a', path)).rejects.toMatchObject({ code: 'unauthorized' });
    expect(strict.requests).toHaveLength(1);
    expect(bodyBytes).toBe(0);
  });

  it.each([
    ['413 and reads no more', 413, 'frame-too-large', ''],
    ['401 and says that it closes', 401, 'unauthorized', 'connection: close\r\n'],
  ] as const)('%s: the answer counts, the rest is not sent', async (_what, status, code, header) => {
    let readBytes = 0;
    const sockets: Socket[] = [];
    const { client, heads } = await bare((socket) => {
      sockets.push(socket);
      socket.write('HTTP/1.1 100 Continue\r\n\r\n');
      // From the midst of the body on nothing is read.
      socket.on('data', () => {
        if (socket.bytesRead < 1_000_000) return;
        socket.pause();
        socket.write(jsonText(status, problem(code, status, false), header));
        readBytes = socket.bytesRead;
      });
      socket.resume();
    });
    await expect(client.putFrame('s', 'a', fileOf(Buffer.alloc(MUCH_BYTES)))).rejects.toMatchObject({ code });
    expect(heads).toHaveLength(1);
    expect(readBytes).toBeLessThan(MUCH_BYTES / 2);
    // Over this connection nothing else can be asked: it was left.
    const [socket] = sockets;
    socket?.removeAllListeners('data').resume();
    if (socket?.closed === false) await once(socket, 'close');
    expect(socket?.bytesRead).toBeLessThan(MUCH_BYTES);
  });

  it('in the midst of a body is tried again, and told with how far it came when it stays so', async () => {
    let times = 0;
    const leaving = (socket: Socket): void => {
      socket.write('HTTP/1.1 100 Continue\r\n\r\n');
      socket.on('data', () => {
        if (socket.bytesRead > 1_000_000) socket.resetAndDestroy();
      });
      socket.resume();
    };
    const healing = await bare((socket) => {
      times += 1;
      if (times < 3) {
        leaving(socket);
        return;
      }
      socket.write('HTTP/1.1 100 Continue\r\n\r\n');
      socket.on('data', () => {
        if (socket.bytesRead > MUCH_BYTES) socket.write(jsonText(201, receipt));
      });
      socket.resume();
    });
    const path = fileOf(Buffer.alloc(MUCH_BYTES));
    expect(await healing.client.putFrame('s', 'a', path)).toEqual(receipt);
    expect(healing.heads).toHaveLength(3);

    const lost = await bare(leaving, { attempts: 2 });
    await expect(lost.client.putFrame('s', 'a', path)).rejects.toThrow(
      new RegExp(`no answer from the service \\(.+, [0-9]{6,} of ${MUCH_BYTES} bytes sent\\)$`),
    );
    expect(lost.heads).toHaveLength(2);
  });

  it('never says whether it wants a body: gets it, and is not asked again', async () => {
    const { client, heads } = await bare(
      (socket, head, begun) => {
        const length = Number(/content-length: (\d+)/i.exec(head)?.[1]);
        let bodyBytes = begun;
        socket.on('data', (chunk: Buffer) => {
          bodyBytes += chunk.byteLength;
          if (bodyBytes === length) socket.end(jsonText(201, receipt, 'connection: close\r\n'));
        });
        socket.resume();
      },
      { limits: { continueMs: 5 } },
    );
    const path = fileOf(Buffer.alloc(1_000_000));
    for (let time = 0; time < 2; time += 1) expect(await client.putFrame('s', 'a', path)).toEqual(receipt);
    expect(heads.map((head) => /expect: 100-continue/i.test(head))).toEqual([true, false]);
  });

  it('refuses to be asked: gets it unasked', async () => {
    const { client, requests } = await served(
      (request, response) => {
        request.resume();
        request.on('end', () => {
          json(response, 201, receipt);
        });
      },
      {},
      (_request, response) => {
        response.writeHead(417).end();
      },
    );
    expect(await client.putFrame('s', 'a', fileOf(Buffer.alloc(1_000_000)))).toEqual(receipt);
    expect(requests.map(({ headers }) => headers.expect)).toEqual(['100-continue', undefined]);
  });

  it('is slow: is waited for while bytes move', async () => {
    const { client } = await served((request, response) => {
      // A chunk of at most 64 KiB a turn of the event loop.
      request.on('data', () => {
        request.pause();
        setImmediate(() => request.resume());
      });
      request.on('end', () => {
        json(response, 201, receipt);
      });
    });
    expect(await client.putFrame('s', 'a', fileOf(Buffer.alloc(MUCH_BYTES)))).toEqual(receipt);
  });
});

describe.skipIf(!OPENSSL)('a service behind TLS', () => {
  it('is sent to only where its certificate is trusted', async () => {
    const folder = temporaryFolder();
    const [key, certificate] = [join(folder, 'key.pem'), join(folder, 'certificate.pem')];
    const made = spawnSync('openssl', ['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2', '-subj', '/CN=localhost', '-addext', 'subjectAltName=IP:127.0.0.1', '-keyout', key, '-out', certificate]); // prettier-ignore
    expect(made.status, made.stderr.toString()).toBe(0);
    const { url } = await serviceForTest();
    const proxied: string[] = [];
    const proxy = createSecureServer({ key: readFileSync(key), cert: readFileSync(certificate) });
    const pass = ({ method, url: path = '', headers }: IncomingMessage): ClientRequest => {
      proxied.push(`${method} ${path}`);
      return request(new URL(path, url), { method, headers });
    };
    const answerFrom = (onward: ClientRequest, response: ServerResponse): void => {
      onward.on('response', (answer) => {
        response.writeHead(answer.statusCode ?? 0, answer.headers);
        answer.pipe(response);
      });
    };
    proxy.on('request', (incoming: IncomingMessage, response: ServerResponse) => {
      const onward = pass(incoming);
      answerFrom(onward, response);
      incoming.pipe(onward);
    });
    proxy.on('checkContinue', (incoming: IncomingMessage, response: ServerResponse) => {
      const onward = pass(incoming);
      answerFrom(onward, response);
      onward.flushHeaders();
      onward.on('continue', () => {
        response.writeContinue();
        incoming.pipe(onward);
      });
    });
    proxy.listen(0, '127.0.0.1');
    await once(proxy, 'listening');
    onTestFinished(() => {
      proxy.close();
      proxy.closeAllConnections();
    });
    const to = `https://127.0.0.1:${(proxy.address() as AddressInfo).port}`;
    const photo = join(folder, 'a.jpg');
    writeFileSync(photo, Buffer.concat([Buffer.from('measure '), Buffer.alloc(3_000_000, 'x')]));

    const untrusting = new ServiceClient({ to, attempts: 1 });
    await expect(untrusting.status('s')).rejects.toThrow(/self-signed certificate/);
    expect(proxied).toEqual([]);
    // Trusted certificates are read when a process starts.
    const ran = await runCli(['send', photo, '--to', to, '--json'], { NODE_EXTRA_CA_CERTS: certificate });
    expect(ran.stderr).toBe('');
    const report = ShootReport.parse(JSON.parse(ran.stdout));
    expect(report.frames.map(({ name }) => name)).toEqual(['a.jpg']);
    expect(proxied.some((line) => /^PUT .*\/a\.jpg$/.test(line))).toBe(true);
  });
});
