import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';

/** What a client of the service understands. */
const RECEIPT = JSON.stringify({ name: 'f', sha256: '0', bytes: 1, state: 'received', created: true, href: '/' });

/** A server that reads what it is sent and throws it away; says its port. */
const server = createServer((request, response) => {
  request.on('data', () => undefined);
  request.on('end', () => response.end(RECEIPT));
});
server.listen(0, '127.0.0.1', () => {
  console.log((server.address() as AddressInfo).port);
});
