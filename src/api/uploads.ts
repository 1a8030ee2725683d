import type { IncomingMessage } from 'node:http';
import type { RequestHandler } from 'express';
import { StopledgerError } from '../errors.js';
import { announcedSha256 } from './content-digest.js';
import type { AppDeps } from './deps.js';
import { checkedFrameName } from './frame-name.js';
import { addressedShoot, pathParameter } from './requests.js';
import { letBodyCome } from './resource.js';
import { takeFrame } from './take-frame.js';

/** The body as it comes; stopping to read it leaves the connection open for the answer. */
export function bodyOf(request: IncomingMessage): AsyncIterable<Uint8Array> {
  return request.iterator({ destroyOnReturn: false }) as AsyncIterable<Uint8Array>;
}

/** PUT of one file as the raw body. 201 taken, 200 the same bytes were here, 409 other bytes were. */
export function putFrame(deps: AppDeps): RequestHandler {
  return async (request, response) => {
    const shoot = await addressedShoot(deps.store, request);
    const name = checkedFrameName(pathParameter(request, 'name'));
    const sha256 = announcedSha256((header) => request.get(header));
    if (request.get('content-encoding') !== undefined) {
      throw new StopledgerError('unsupported-media-type', 'Content-Encoding: the file itself is expected, unencoded');
    }
    if (request.get('content-range') !== undefined) {
      throw new StopledgerError('bad-request', 'Content-Range: a whole file is expected, not a part of one');
    }
    const announcedBytes = Number(request.get('content-length') ?? 0);
    if (announcedBytes > deps.config.maxFrameBytes) {
      const message = `the file has ${announcedBytes} bytes; at most ${deps.config.maxFrameBytes} are allowed`;
      throw new StopledgerError('frame-too-large', message);
    }
    letBodyCome(request, response);
    const receipt = await takeFrame(deps, shoot, { name, source: bodyOf(request), sha256 });
    response
      .status(receipt.created ? 201 : 200)
      .location(receipt.href)
      .json(receipt);
  };
}
