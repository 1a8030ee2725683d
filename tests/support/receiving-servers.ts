import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { writeFileSync } from 'node:fs';
import { type IncomingMessage, type RequestListener, type ServerResponse, createServer } from 'node:http';
import { type AddressInfo, type Server, type Socket, createServer as createSocketServer } from 'node:net';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { ServiceClient, type ServiceClientOptions } from '../../src/commands/service-client.js';
import { temporaryFolder } from './temporary-folder.js';

export const OPENSSL = spawnSync('openssl', ['version']).status === 0;

/** More than what two sockets on loopback hold between them. */
export const MUCH_BYTES = 48 * 1024 ** 2;

export const receipt = { name: 'a', sha256: '0', bytes: 1, state: 'received', created: true, href: '/' };
export const problem = (code: string, status: number, retryable: boolean) => ({
  type: 'about:blank',
  title: code,
  status,
  code,
  detail: `told ${code}`,
  retryable,
});

export function fileOf(bytes: Uint8Array | string): string {
  const path = join(temporaryFolder(), 'a.jpg');
  writeFileSync(path, bytes);
  return path;
}

export async function clientOf(server: Server, options: Partial<ServiceClientOptions> = {}): Promise<ServiceClient> {
  const sockets = new Set<Socket>();
  server.on('connection', (socket: Socket) => {
    sockets.add(socket);
    socket.on('error', () => undefined);
    socket.on('close', () => sockets.delete(socket));
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  const client = new ServiceClient({ to: `http://127.0.0.1:${port}/behind/a/path`, attempts: 4, firstPauseMs: 1, ...options }); // prettier-ignore
  onTestFinished(() => {
    client.close();
    server.close();
    for (const socket of sockets) socket.destroy();
  });
  return client;
}

/** A server of Node, and what it was asked; it lets bodies come by itself unless it is told what to do when asked. */
export async function served(
  answer: RequestListener,
  options: Partial<ServiceClientOptions> = {},
  asked?: (request: IncomingMessage, response: ServerResponse) => void,
) {
  const requests: IncomingMessage[] = [];
  const server = createServer((request, response) => {
    requests.push(request);
    answer(request, response);
  });
  if (asked !== undefined) {
    server.on('checkContinue', (request: IncomingMessage, response: ServerResponse) => {
      requests.push(request);
      asked(request, response);
    });
  }
  return { client: await clientOf(server, options), requests, server };
}

/** A server that speaks no HTTP of its own: it gets each connection, paused, once a whole head and so much more has come. */
export async function bare(
  onHead: (socket: Socket, head: string, bodyBytes: number) => void,
  options: Partial<ServiceClientOptions> = {},
) {
  const heads: string[] = [];
  const server = createSocketServer((socket) => {
    let text = '';
    const read = (chunk: Buffer): void => {
      text += chunk.toString('latin1');
      const end = text.indexOf('\r\n\r\n');
      if (end < 0) return;
      socket.off('data', read);
      socket.pause();
      heads.push(text.slice(0, end));
      onHead(socket, text.slice(0, end), text.length - end - 4);
    };
    socket.on('data', read);
  });
  return { client: await clientOf(server, options), heads };
}

export function json(
  response: ServerResponse,
  status: number,
  body: unknown,
  headers: Record<string, string> = {},
): void {
  response.writeHead(status, { 'content-type': 'application/json', ...headers });
  response.end(JSON.stringify(body));
}

export const jsonText = (status: number, body: unknown, headers = ''): string => {
  const text = JSON.stringify(body);
  return `HTTP/1.1 ${status} Told\r\ncontent-type: application/json\r\ncontent-length: ${Buffer.byteLength(text)}\r\n${headers}\r\n${text}`;
};

/** Answers one after the other; the last for all that follow. */
export async function answering(answers: { status: number; body?: unknown; headers?: Record<string, string> }[]) {
  let count = 0;
  return served((request, response) => {
    const answer = answers[Math.min(count++, answers.length - 1)] ?? { status: 500 };
    request.resume();
    request.on('end', () => {
      json(response, answer.status, answer.body ?? {}, answer.headers);
    });
  });
}
