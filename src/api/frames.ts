import type { Request, Response, Router } from 'express';
import { StopledgerError } from '../errors.js';
import type { MeasuredFrameRecord } from '../store/port.js';
import type { AppDeps } from './deps.js';
import { postFrames } from './multipart.js';
import { overlayOf } from './overlays.js';
import { Drawings, keptPicture } from './pictures.js';
import { addressedFrame, waitSeconds } from './requests.js';
import { expectMediaType } from './shoots.js';
import { answeredNotModified, goneSignal, negotiated, resource } from './resource.js';
import { putFrame } from './uploads.js';
import { waitUntil } from './wait-until.js';

export type MeasuredFrame = MeasuredFrameRecord & { measurement: NonNullable<MeasuredFrameRecord['measurement']> };

/**
 * The frame the address names, measured. Waits as `?wait=` says. Throws `report-not-ready` while it is not measured
 * and the frame's own failure when it could not be.
 */
export async function measuredFrame(deps: AppDeps, request: Request, response: Response): Promise<MeasuredFrame> {
  const { store, config } = deps;
  const { shoot, frame } = await addressedFrame(store, request);
  const waitMs = waitSeconds(request, config.maxWaitSeconds) * 1000;
  const done = await waitUntil(deps, shoot.id, waitMs, goneSignal(response), async () => {
    const { frame: now } = await addressedFrame(store, request);
    return now.state === 'measured' || now.state === 'failed' ? store.getFrame(shoot.id, now.name) : null;
  });
  const name = JSON.stringify(frame.name);
  if (done === null) throw new StopledgerError('report-not-ready', `frame ${name} is not measured yet`);
  if (done.failure !== null) {
    const message = `frame ${name} could not be measured: ${done.failure.message}`;
    throw new StopledgerError(done.failure.code, message, { retryable: false });
  }
  const { measurement } = done;
  if (measurement === null) throw new StopledgerError('internal', `frame ${name} is measured without a measurement`);
  return { ...done, measurement };
}

/** Sends a picture that never changes under its address; null where nobody is there any more to send it to. */
async function sendPicture(response: Response, tag: string, make: () => Promise<Buffer | null>): Promise<void> {
  if (answeredNotModified(response.req, response, tag)) return;
  const picture = await make();
  if (picture !== null) response.type('image/jpeg').send(picture);
}

/** Uploads, whole measurements and pictures of single frames. */
export function frameRoutes(router: Router, deps: AppDeps): void {
  // Each holds some ten megabytes while it is drawn.
  const overlays = new Drawings();
  resource(router, '/v1/shoots/:id/frames', { post: [expectMediaType('multipart/form-data'), postFrames(deps)] });

  resource(router, '/v1/shoots/:id/frames/:name', {
    put: putFrame(deps),
    async get(request, response) {
      negotiated(request, response, ['application/json']);
      const { measurement, sha256 } = await measuredFrame(deps, request, response);
      if (answeredNotModified(request, response, `${sha256}-${measurement.measuringVersion}`)) return;
      response.json(measurement);
    },
  });

  resource(router, '/v1/shoots/:id/frames/:name/preview', {
    async get(request, response) {
      negotiated(request, response, ['image/jpeg']);
      const frame = await measuredFrame(deps, request, response);
      await sendPicture(response, `${frame.sha256}-preview`, () => keptPicture(deps, frame, 'previewJpeg'));
    },
  });

  resource(router, '/v1/shoots/:id/frames/:name/overlay', {
    async get(request, response) {
      negotiated(request, response, ['image/jpeg']);
      const frame = await measuredFrame(deps, request, response);
      const tag = `${frame.sha256}-overlay-${frame.measurement.measuringVersion}`;
      await sendPicture(response, tag, () =>
        overlays.of(response, async () =>
          overlayOf(frame.shootId, frame.sha256, await keptPicture(deps, frame, 'previewJpeg'), frame.measurement),
        ),
      );
    },
  });
}
