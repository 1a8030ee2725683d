import { StopledgerError } from '../errors.js';

/** An origin as `URL.origin` writes it, of `https://host[:port]`, `http://host[:port]` or a bare host; else null. */
export function originOf(text: string): string | null {
  const written = text.includes('://') ? text : `https://${text}`;
  if (!URL.canParse(written)) return null;
  const url = new URL(written);
  const bare = url.pathname === '/' && url.search === '' && url.hash === '' && url.username === '' && url.password === ''; // prettier-ignore
  const isHost = /^([a-z0-9._-]+|\[[0-9a-f:.]+\])$/.test(url.hostname);
  return bare && isHost && /^https?:$/.test(url.protocol) ? url.origin : null;
}

/**
 * The address of a webhook that was asked for. Hosts written as decimal, octal or hexadecimal numbers are read as the
 * addresses that they are (WHATWG URL). Throws `bad-webhook` when it is not at one of the allowed origins.
 */
export function checkedWebhookUrl(text: string, allow: readonly string[]): URL {
  if (allow.length === 0) {
    throw new StopledgerError('bad-webhook', 'webhook: this service sends none; WEBHOOK_ALLOW says where they may go');
  }
  if (!URL.canParse(text))
    throw new StopledgerError('bad-webhook', 'webhook.url: an address with https:// is expected');
  const url = new URL(text);
  if (!/^https?:$/.test(url.protocol)) {
    throw new StopledgerError('bad-webhook', `webhook.url: https:// or http:// expected, received ${url.protocol}`);
  }
  if (url.username !== '' || url.password !== '') {
    throw new StopledgerError('bad-webhook', 'webhook.url: holds a user or password; webhooks are signed instead');
  }
  if (!allow.includes(url.origin)) {
    throw new StopledgerError('bad-webhook', `webhook.url: ${url.origin} is not among the origins that are allowed`);
  }
  url.hash = '';
  return url;
}
