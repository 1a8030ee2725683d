import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';

/** A server that reads what it is sent and throws it away; says its port. */
const server = createServer((request, response) => {
  request.on('data', () => undefined);
  request.on('end', () => response.end());
});
server.listen(0, '127.0.0.1', () => {
  console.log((server.address() as AddressInfo).port);
});
