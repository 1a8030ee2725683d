import { randomBytes } from 'node:crypto';
import express, { type RequestHandler, type Router } from 'express';
import type { z } from 'zod';
import { CreateShootBody, type ShootProgress, type ShootStatus } from '../contracts/api.js';
import { ShootPlan } from '../contracts/plan.js';
import { StopledgerError } from '../errors.js';
import type { ShootRecord } from '../store/port.js';
import { callerOf } from './callers.js';
import type { AppDeps } from './deps.js';
import { addressedShoot, shootHref } from './requests.js';
import { removeShoot } from './remove-shoot.js';
import { checkedWebhook } from './webhooks.js';
import { letBodyCome, resource } from './resource.js';

const LARGEST_BODY_BYTES = 256 * 1024;

/** 128 random bits: whoever was not told an id does not find it. */
const newShootId = (): string => randomBytes(16).toString('hex');

export function shootState(shoot: ShootRecord, progress: ShootProgress): ShootStatus['state'] {
  if (shoot.completedAt === null) return 'open';
  return progress.received + progress.measuring > 0 ? 'measuring' : 'ready';
}

export async function shootStatus(deps: Pick<AppDeps, 'progress'>, shoot: ShootRecord): Promise<ShootStatus> {
  const progress = await deps.progress.of(shoot);
  return {
    id: shoot.id,
    name: shoot.name,
    createdAt: shoot.createdAt,
    state: shootState(shoot, progress),
    progress,
    plan: shoot.plan,
  };
}

function checkedBody(body: unknown): CreateShootBody {
  const parsed = CreateShootBody.safeParse(body);
  if (parsed.success) return parsed.data;
  const told = (issue: z.core.$ZodIssue): string => `${issue.path.join('.') || 'body'}: ${issue.message}`;
  const inPlan = parsed.error.issues.every((issue) => issue.path[0] === 'plan');
  throw new StopledgerError(inPlan ? 'bad-plan' : 'bad-request', parsed.error.issues.map(told).join('; '));
}

/** Refuses a body that is not of the media type, before it is read. */
export function expectMediaType(mediaType: string): RequestHandler {
  return (request, _response, next) => {
    if (request.is(mediaType) !== mediaType) {
      const received = request.get('content-type') ?? 'none';
      throw new StopledgerError('unsupported-media-type', `Content-Type: ${mediaType} expected, received ${received}`);
    }
    next();
  };
}

/** Create, look at, complete and delete shoots. */
export function shootRoutes(router: Router, deps: AppDeps): void {
  const { store, events, notifier, log } = deps;

  resource(router, '/v1/shoots', {
    post: [
      expectMediaType('application/json'),
      (request, response, next) => {
        letBodyCome(request, response);
        next();
      },
      express.json({ limit: LARGEST_BODY_BYTES }),
      async (request, response) => {
        const { name, plan, webhook } = checkedBody(request.body);
        const shoot = await store.createShoot({
          id: newShootId(),
          name,
          plan: plan ?? ShootPlan.parse({}),
          studio: callerOf(request).studio,
          ...(webhook === undefined ? {} : { webhook: checkedWebhook(webhook, deps) }),
        });
        log.info({ shootId: shoot.id, ...(shoot.studio === null ? {} : { studio: shoot.studio }) }, 'shoot created');
        response
          .status(201)
          .location(shootHref(shoot.id))
          .json(await shootStatus(deps, shoot));
      },
    ],
  });

  resource(router, '/v1/shoots/:id', {
    async get(request, response) {
      response.set('Cache-Control', 'no-cache').json(await shootStatus(deps, await addressedShoot(store, request)));
    },
    async delete(request, response) {
      const { id } = await addressedShoot(store, request);
      await removeShoot(deps, id);
      response.status(204).end();
    },
  });

  resource(router, '/v1/shoots/:id/complete', {
    async post(request, response) {
      const { id } = await addressedShoot(store, request);
      const shoot = await store.completeShoot(id);
      if (shoot === null) throw new StopledgerError('shoot-not-found', `there is no shoot ${id}`);
      events.tell({ shootId: id, frame: null, deleted: false });
      await notifier.mayBeReady(id);
      response.json(await shootStatus(deps, shoot));
    },
  });
}
