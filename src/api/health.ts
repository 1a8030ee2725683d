import type { Router } from 'express';
import type { ReadyState } from '../contracts/api.js';
import type { AppDeps } from './deps.js';
import { resource } from './resource.js';

async function partState(check: () => Promise<unknown>): Promise<string> {
  try {
    await check();
    return 'ok';
  } catch (error) {
    return error instanceof Error ? error.message : 'failed';
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
        store: await partState(() => deps.store.getShoot('')),
        files: await partState(() => deps.files.check()),
        queue: await partState(() => deps.queue.counts()),
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
