import type { Router } from 'express';
import type { ProblemKind } from '../contracts/api.js';
import { ERROR_CODES, ERROR_TABLE, StopledgerError } from '../errors.js';
import type { AppDeps } from './deps.js';
import { Readiness } from './readiness.js';
import { pathParameter } from './requests.js';
import { resource } from './resource.js';

/** `/healthz`: the process answers. `/readyz`: it can take and measure frames, or which part cannot. */
export function healthRoutes(router: Router, deps: AppDeps): void {
  const readiness = new Readiness(deps);
  resource(router, '/healthz', {
    get(_request, response) {
      response.set('Cache-Control', 'no-store').json({ alive: true });
    },
  });
  resource(router, '/readyz', {
    async get(_request, response) {
      const state = await readiness.state();
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
