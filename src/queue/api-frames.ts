import { Readable } from 'node:stream';
import type { ReadableStream } from 'node:stream/web';
import { z } from 'zod';
import { ERROR_CODES, StopledgerError } from '../errors.js';
import type { OpenFrame } from './copied-frames.js';
import { type FrameAddress, TOKEN_SECONDS, signFrameToken } from './frame-token.js';

export interface FrameApi {
  /** Address of the service, for example `http://studio:4180`. */
  url: string;
  /** The secret that the service has, too. */
  secret: string;
}

const Refusal = z.object({ code: z.enum(ERROR_CODES), detail: z.string() });

const frameUrl = (api: FrameApi, { shootId, sha256 }: FrameAddress): string =>
  `${api.url.replace(/\/+$/, '')}/v1/internal/shoots/${encodeURIComponent(shootId)}/frames/${sha256}`;

async function ask(api: FrameApi, frame: FrameAddress, signal: AbortSignal): Promise<Response> {
  const token = signFrameToken(api.secret, frame, Date.now() / 1000 + TOKEN_SECONDS);
  try {
    return await fetch(frameUrl(api, frame), {
      headers: { authorization: `Bearer ${token}` },
      redirect: 'error',
      signal,
    });
  } catch (error) {
    signal.throwIfAborted();
    const { cause } = error instanceof Error ? error : {};
    const reason = cause instanceof Error ? cause.message : String(error);
    throw new StopledgerError('storage-unavailable', `${api.url} does not answer: ${reason}`, { cause: error });
  }
}

async function refusalOf(api: FrameApi, response: Response): Promise<StopledgerError> {
  const told = Refusal.safeParse(await response.json().catch(() => null));
  if (response.status === 422 && told.success) return new StopledgerError(told.data.code, told.data.detail);
  const detail = told.success ? told.data.detail : 'no reason given';
  return new StopledgerError('storage-unavailable', `${api.url} answers ${response.status}: ${detail}`);
}

/** Frames by plain HTTP from the service, for workers that share no storage with it. */
export function apiFrames(api: FrameApi): OpenFrame {
  return async (shootId, sha256, signal) => {
    const response = await ask(api, { shootId, sha256 }, signal);
    if (response.status !== 200 || response.body === null) throw await refusalOf(api, response);
    return { stream: Readable.fromWeb(response.body as ReadableStream<Uint8Array>) };
  };
}

/** At a worker's start: throws `bad-configuration` when the service is there and does not know the secret. */
export async function checkFrameApi(api: FrameApi): Promise<void> {
  const response = await ask(api, { shootId: 'none', sha256: '0'.repeat(64) }, AbortSignal.timeout(5000)).catch(() => null); // prettier-ignore
  if (response === null) return; // Not there yet: frames wait for it.
  const { message } = await refusalOf(api, response);
  if (response.status !== 401 && response.status !== 404) return;
  throw new StopledgerError('bad-configuration', `FRAME_API_URL, FRAME_API_SECRET: ${message}`);
}
