/** The address without user and password, for messages. */
export function redisAddress(url: string): string {
  const { protocol, hostname, port } = new URL(url);
  return `${protocol}//${hostname}:${port === '' ? '6379' : port}`;
}
