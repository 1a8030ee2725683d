import http from 'node:http';
import https from 'node:https';
import type { FrameFile } from './frame-file.js';

/** More of an answer is not read. */
const MOST_ANSWER_BYTES = 256 * 1024 ** 2;

export interface Message {
  method: string;
  headers: Record<string, string>;
  body: Buffer | FrameFile | null;
}

export interface ExchangeLimits {
  /** For finding the address, connecting and agreeing on keys. */
  connectMs: number;
  /** For a connection on which no byte moves. */
  idleMs: number;
  /** For all of one exchange. */
  wholeMs: number;
  /** How long a server that was asked whether it wants the body may say nothing before it gets it. */
  continueMs: number;
}

export interface Answer {
  status: number;
  statusText: string;
  headers: http.IncomingHttpHeaders;
  body: Buffer;
  /** Asked whether it wants the body (`Expect: 100-continue`), the server said nothing in time. */
  wasSilent: boolean;
}

/** Connections to one service, used again and never more than so many. */
export class Connections {
  readonly #plain: http.Agent;
  readonly #secure: https.Agent;
  readonly #limits: ExchangeLimits;

  constructor(most: number, limits: ExchangeLimits) {
    const options = { keepAlive: true, maxSockets: most, maxFreeSockets: most };
    this.#plain = new http.Agent(options);
    this.#secure = new https.Agent(options);
    this.#limits = limits;
  }

  /**
   * Sends one request and reads the whole answer, whatever it says. Follows no redirect and asks no proxy. An answer that
   * comes while the body is being sent ends the sending. Throws what became of the connection otherwise.
   */
  exchange(url: URL, { method, headers, body }: Message, signal: AbortSignal): Promise<Answer> {
    const [start, agent] = url.protocol === 'https:' ? [https.request, this.#secure] : [http.request, this.#plain];
    const request = start(url, { method, headers, agent, signal });
    return answerTo(request, body, this.#limits);
  }

  /** Closes what waits to be used again; it keeps no process from ending either. */
  close(): void {
    this.#plain.destroy();
    this.#secure.destroy();
  }
}

function answerTo(request: http.ClientRequest, body: Message['body'], limits: ExchangeLimits): Promise<Answer> {
  return new Promise((resolve, reject) => {
    /** Aborted when nothing more is to be sent. */
    const enough = new AbortController();
    const fail = (error: Error): void => {
      // First, since what happens to the connection then says less.
      reject(error);
      request.destroy(error);
    };
    const send = (): void => {
      sendBody(request, body, enough.signal).catch(fail);
    };
    let wasSilent = false;
    limitTimes(request, limits, fail);
    if (request.hasHeader('expect')) askFirst(request, limits.continueMs, send, () => (wasSilent = true));
    else send();

    let isAnswered = false;
    request.on('response', (response) => {
      isAnswered = true;
      enough.abort();
      wholeOf(response).then((bytes) => {
        const { statusCode = 0, statusMessage = '', headers } = response;
        resolve({ status: statusCode, statusText: statusMessage, headers, body: bytes, wasSilent });
        // The server still expects the rest of a body that it will not get.
        if (!request.writableFinished) request.destroy();
      }, fail);
    });
    request.on('error', (error) => {
      reject(error.message === 'socket hang up' ? new Error(CLOSED, { cause: error }) : error);
    });
    request.on('close', () => {
      enough.abort();
      if (!isAnswered) reject(new Error(CLOSED));
    });
  });
}

const CLOSED = 'the connection was closed without an answer';

/** Of a new connection: bytes can go over it. */
const openEvent = (request: http.ClientRequest): string =>
  request.protocol === 'https:' ? 'secureConnect' : 'connect';

function limitTimes(request: http.ClientRequest, limits: ExchangeLimits, fail: (error: Error) => void): void {
  const failure = (what: string, ms: number): void => {
    fail(new Error(`${what} ${ms / 1000} s`));
  };
  const whole = setTimeout(failure, limits.wholeMs, 'no whole answer within', limits.wholeMs);
  request.setTimeout(limits.idleMs, () => {
    failure('nothing was sent or received for', limits.idleMs);
  });
  // Waiting for a connection that others use is not connecting.
  let connecting: NodeJS.Timeout | undefined;
  request.on('socket', (socket) => {
    if (request.reusedSocket) return;
    connecting = setTimeout(failure, limits.connectMs, 'no connection within', limits.connectMs);
    socket.once(openEvent(request), () => {
      clearTimeout(connecting);
    });
  });
  request.on('close', () => {
    clearTimeout(whole);
    clearTimeout(connecting);
  });
}

/** Calls `send` once: when the server says that it wants the body, or when it has said nothing for so long. */
function askFirst(request: http.ClientRequest, continueMs: number, send: () => void, silent: () => void): void {
  let patience: NodeJS.Timeout | undefined;
  const wait = (): void => {
    patience = setTimeout(() => {
      request.off('continue', send);
      silent();
      send();
    }, continueMs);
  };
  request.once('continue', send);
  request.on('socket', (socket) => {
    if (request.reusedSocket) wait();
    else socket.once(openEvent(request), wait);
  });
  for (const event of ['continue', 'response', 'close']) {
    request.on(event, () => {
      clearTimeout(patience);
    });
  }
  request.flushHeaders();
}

/** Writes the whole body and ends the request, or stops in the midst of it when `enough` is aborted. */
async function sendBody(request: http.ClientRequest, body: Message['body'], enough: AbortSignal): Promise<void> {
  if (body === null || Buffer.isBuffer(body)) {
    request.end(body ?? undefined);
    return;
  }
  await body.writeTo(request, enough);
  if (!enough.aborted) request.end();
}

async function wholeOf(response: http.IncomingMessage): Promise<Buffer> {
  const chunks: Buffer[] = [];
  let bytes = 0;
  try {
    for await (const chunk of response) {
      chunks.push(chunk as Buffer);
      bytes += (chunk as Buffer).byteLength;
      if (bytes > MOST_ANSWER_BYTES) break;
    }
  } catch (error) {
    throw new Error('the answer broke off before its end', { cause: error });
  }
  if (bytes > MOST_ANSWER_BYTES) throw new Error(`the answer has more than ${MOST_ANSWER_BYTES} bytes`);
  return Buffer.concat(chunks, bytes);
}
