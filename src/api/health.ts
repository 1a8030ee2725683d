import type { Router } from 'express';
import type { ProblemKind, ReadyState } from '../contracts/api.js';
import { ERROR_CODES, ERROR_TABLE, StopledgerError } from '../errors.js';
import type { AppDeps } from './deps.js';
import { pathParameter } from './requests.js';
import { resource } from './resource.js';

/** Which part fails is told to everyone, why it does only to the log. */
async function partState(deps: AppDeps, part: string, check: () => Promise<unknown>): Promise<string> {
  try {
    await check();
    return 'ok';
  } catch (error) {
    deps.log.error({ part, err: error }, 'part is not ready');
    return 'failed';
  }
}

/** `/healthz`: the process answers. `/readyz`: it can take and measure frames, or which part cannot. */
export function healthRoutes(router: Router, deps: AppDeps): void {
  resource(router, '/healthz', {
    get(_request, response) {
      response.set('Cache-Control', 'no-store').json({ alive: true });
    },
  });
  resource(router, '/readyz', {
    async get(_request, response) {
      const parts = {
        store: await partState(deps, 'store', () => deps.store.getShoot('')),
        files: await partState(deps, 'files', () => deps.files.check()),
        queue: await partState(deps, 'queue', () => deps.queue.counts()),
        service: deps.shuttingDown.aborted ? 'shutting down' : 'ok',
      };
      const state: ReadyState = { ready: Object.values(parts).every((part) => part === 'ok'), parts };
      response
        .status(state.ready ? 200 : 503)
        .set('Cache-Control', 'no-store')
        .json(state);
    },
  });
}

/** What the `type` of a problem points to: the same table that made it. */
export function problemRoutes(router: Router): void {
  resource(router, '/problems/:code', {
    get(request, response) {
      const code = pathParameter(request, 'code');
      const kind = ERROR_CODES.find((known) => known === code);
      if (kind === undefined) throw new StopledgerError('not-found', `there is no problem ${JSON.stringify(code)}`);
      response.json({ code: kind, ...ERROR_TABLE[kind] } satisfies ProblemKind);
    },
  });
}
