import { pipeline } from 'node:stream/promises';
import type { Router } from 'express';
import { StopledgerError } from '../errors.js';
import { checkFrameToken } from '../queue/frame-token.js';
import type { AppDeps } from './deps.js';
import { pathParameter } from './requests.js';
import { resource } from './resource.js';

/**
 * The bytes of a frame for workers that share no storage with this service, each behind a short-lived token of its
 * own. Not part of the public API and not in its document: its two ends are of one version.
 */
export function internalFrameRoutes(router: Router, deps: AppDeps): void {
  const { config, files, log } = deps;
  if (config.frameApiSecret === '') return;

  resource(router, '/v1/internal/shoots/:id/frames/:sha256', {
    async get(request, response) {
      const [shootId, sha256] = [pathParameter(request, 'id'), pathParameter(request, 'sha256')];
      response.set({ 'Cache-Control': 'no-store', 'WWW-Authenticate': 'Bearer realm="stopledger frames"' });
      const [, token = ''] = /^Bearer +(\S+) *$/i.exec(request.get('authorization') ?? '') ?? [];
      checkFrameToken(config.frameApiSecret, { shootId, sha256 }, token, Date.now() / 1000);
      response.removeHeader('WWW-Authenticate');
      if (!/^[0-9a-f]{64}$/.test(sha256) || !/^[0-9A-Za-z_-]{1,64}$/.test(shootId)) {
        throw new StopledgerError('bad-request', 'an id of a shoot and a SHA-256 in hexadecimal are expected');
      }
      const { bytes, stream } = await files.openRead(shootId, sha256);
      response.type('application/octet-stream').set({
        'Content-Length': String(bytes),
        'Repr-Digest': `sha-256=:${Buffer.from(sha256, 'hex').toString('base64')}:`,
      });
      try {
        await pipeline(stream, response);
      } catch (error) {
        // The answer has begun: the worker notices that it is cut, and asks again.
        log.warn({ shootId, sha256, err: error }, 'a worker did not get a frame whole');
        response.destroy();
      }
    },
  });
}
