import type { Request, RequestHandler, Response, Router } from 'express';
import { z } from 'zod';
import type { FrameProducts } from '../contracts/jobs.js';
import type { CorrectedFrame } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import { BEFORE_AFTER_LONG_EDGE_PX } from '../render/advice-files.js';
import { beforeAfterJpeg } from '../render/before-after.js';
import { LIFT_REGIONS, liftMask, maskGround } from '../render/lift-mask.js';
import { MASK_FORMATS, encodeLiftMask } from '../render/lift-mask-file.js';
import { correctedFrames } from '../render/corrected-frames.js';
import { sidecarContent } from '../render/sidecar-content.js';
import { sidecarNames } from '../render/sidecar-names.js';
import { newSidecar } from '../render/sidecar-packet.js';
import type { AppDeps } from './deps.js';
import { measuredFrame, type MeasuredFrame } from './frames.js';
import { Drawings, keptPicture } from './pictures.js';
import { addressedFrame } from './requests.js';
import { answeredNotModified, negotiated, resource } from './resource.js';
import { settledReport } from './settled-report.js';

/** `?region=`, `?depth=` and `?format=` of a lift mask. */
export const LiftMaskQuery = z.object({
  region: z.enum(LIFT_REGIONS).describe('which lift of the report'),
  depth: z.enum(['8', '16']).default('16').describe('bits a pixel'),
  format: z.enum(MASK_FORMATS).default('png'),
});

interface Judged {
  measured: MeasuredFrame;
  frame: CorrectedFrame;
  /** All of the shoot's. */
  names: readonly string[];
}

/**
 * What the report advises for single frames, as files for the next tool: `/sidecar`, `/lift-mask`, `/before-after`. All
 * of them need the shoot's judgement, so they answer `report-not-ready` for as long as the report does.
 */
export function adviceRoutes(router: Router, deps: AppDeps): void {
  const drawings = new Drawings();
  const address = '/v1/shoots/:id/frames/:name';

  const judgedFrame = async (request: Request, response: Response): Promise<Judged> => {
    await addressedFrame(deps.store, request);
    const { report } = await settledReport(deps, request, response);
    const measured = await measuredFrame(deps, request, response);
    const frame = correctedFrames(report).find(({ name }) => name === measured.name);
    if (frame !== undefined) return { measured, frame, names: (await deps.store.listFrames(measured.shootId)).map((f) => f.name) }; // prettier-ignore
    const other = report.summary.otherRenderings.find(({ rendering }) => rendering === measured.name);
    const why = other === undefined ? 'is not in the report' : `is another rendering of ${JSON.stringify(other.frame)}, which has the advice`; // prettier-ignore
    throw new StopledgerError('no-such-advice', `frame ${JSON.stringify(measured.name)} ${why}`);
  };

  const productsOf = async (frame: MeasuredFrame): Promise<FrameProducts> => {
    const [previewJpeg, regionsPng] = await Promise.all([
      keptPicture(deps, frame, 'previewJpeg'),
      keptPicture(deps, frame, 'regionsPng'),
    ]);
    return { previewJpeg, regionsPng };
  };

  const sidecar: RequestHandler = async (request, response) => {
    negotiated(request, response, ['application/rdf+xml']);
    const { measured, frame, names } = await judgedFrame(request, response);
    const text = newSidecar(sidecarContent(frame, measured.measurement));
    if (answeredNotModified(request, response, text)) return;
    response.attachment(sidecarNames(names).get(measured.name)).type('application/rdf+xml; charset=utf-8').send(text);
  };

  const mask: RequestHandler = async (request, response) => {
    const asked = LiftMaskQuery.safeParse(request.query);
    if (!asked.success) {
      throw new StopledgerError('bad-request', asked.error.issues.map((i) => `${i.path.join('.')}: ${i.message}`).join('; ')); // prettier-ignore
    }
    const { region, format } = asked.data;
    const depth = asked.data.depth === '8' ? 8 : 16;
    const type = negotiated(request, response, [`image/${format}`]);
    const { measured, frame } = await judgedFrame(request, response);
    const lift = frame.lifts.find((one) => one.region === region);
    if (lift === undefined) {
      throw new StopledgerError('no-such-advice', `the report lifts no ${region} in frame ${JSON.stringify(frame.name)}; it lifts ${frame.lifts.map((l) => l.region).join(', ') || 'nothing'}`); // prettier-ignore
    }
    const { source, measuringVersion } = measured.measurement;
    if (answeredNotModified(request, response, JSON.stringify([source.sha256, measuringVersion, lift, depth, format])))
      return;
    const picture = await drawings.of(response, async (gone) => {
      const ground = await maskGround(await productsOf(measured));
      gone.throwIfAborted();
      const field = liftMask(ground, region, lift.outline);
      gone.throwIfAborted();
      return encodeLiftMask(field, { format, depth, size: source });
    });
    if (picture !== null) response.type(type).send(picture);
  };

  const beforeAfter: RequestHandler = async (request, response) => {
    negotiated(request, response, ['image/jpeg']);
    const { measured, frame } = await judgedFrame(request, response);
    const { measurement } = measured;
    if (answeredNotModified(request, response, JSON.stringify([measured.sha256, measurement.measuringVersion, frame])))
      return;
    const picture = await drawings.of(response, async (gone) =>
      beforeAfterJpeg(
        { frame, measurement, products: await productsOf(measured), calibrations: deps.calibrations },
        BEFORE_AFTER_LONG_EDGE_PX,
        { signal: gone },
      ),
    );
    if (picture !== null) response.type('image/jpeg').send(picture);
  };

  resource(router, `${address}/sidecar`, { get: sidecar });
  resource(router, `${address}/lift-mask`, { get: mask });
  resource(router, `${address}/before-after`, { get: beforeAfter });
}
