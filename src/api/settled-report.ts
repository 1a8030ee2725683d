import type { Request, Response } from 'express';
import type { AppDeps } from './deps.js';
import { type Judged, notReady } from './reports.js';
import { addressedShoot, waitSeconds } from './requests.js';
import { goneSignal } from './resource.js';
import { waitUntil } from './wait-until.js';

/**
 * The judgement of the shoot that the address names, once none of its frames is still to be measured; waits for that as
 * `?wait=` says. Throws `report-not-ready` until then.
 */
export async function settledReport(deps: AppDeps, request: Request, response: Response): Promise<Judged> {
  const { store, config } = deps;
  const waitMs = waitSeconds(request, config.maxWaitSeconds) * 1000;
  let progress = { pending: 0, total: 0 };
  const { id } = await addressedShoot(store, request);
  const judged = await waitUntil(deps, id, waitMs, goneSignal(response), async () => {
    const shoot = await addressedShoot(store, request);
    const { received, measuring, total } = await deps.progress.of(shoot);
    progress = { pending: received + measuring, total };
    const settled = progress.pending === 0 && (total > 0 || shoot.completedAt !== null);
    return settled ? deps.reports.of(shoot) : null;
  });
  if (judged === null) throw notReady(progress.pending, progress.total);
  return judged;
}
