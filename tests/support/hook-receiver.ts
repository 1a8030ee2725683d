import { once } from 'node:events';
import { createServer, type IncomingHttpHeaders, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { onTestFinished } from 'vitest';

export interface Received {
  path: string;
  headers: IncomingHttpHeaders;
  body: string;
}

export interface HookReceiver {
  origin: string;
  port: number;
  received: Received[];
  /** How the next posts are answered: 204 unless changed. */
  answer: (response: ServerResponse, count: number) => void;
}

/** A server that takes webhooks, on a free port of this machine; gone after the test. */
export async function hookReceiver(): Promise<HookReceiver> {
  const receiver: HookReceiver = { origin: '', port: 0, received: [], answer: (response) => response.writeHead(204).end() }; // prettier-ignore
  const server = createServer((request, response) => {
    let body = '';
    request.setEncoding('utf8');
    request.on('data', (text: string) => {
      body += text;
    });
    request.on('end', () => {
      receiver.received.push({ path: request.url ?? '', headers: request.headers, body });
      receiver.answer(response, receiver.received.length);
    });
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  onTestFinished(async () => {
    server.closeAllConnections();
    server.close();
    await once(server, 'close');
  });
  receiver.port = (server.address() as AddressInfo).port;
  receiver.origin = `http://127.0.0.1:${receiver.port}`;
  return receiver;
}
