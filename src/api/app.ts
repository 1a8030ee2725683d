import express, { Router, type Express, type RequestHandler } from 'express';
import helmet from 'helmet';
import { StopledgerError } from '../errors.js';
import { VERSION } from '../version.js';
import { requireToken } from './auth.js';
import { knownTokens } from './callers.js';
import type { AppDeps } from './deps.js';
import { eventRoutes } from './events.js';
import { adviceRoutes } from './advice.js';
import { frameRoutes } from './frames.js';
import { healthRoutes, problemRoutes } from './health.js';
import { internalFrameRoutes } from './internal-frames.js';
import { limitRequests } from './limit-requests.js';
import { metricsRoutes } from './metrics.js';
import { openApiRoutes } from './openapi.js';
import { problemHandler } from './problem.js';
import { reportRoutes } from './report.js';
import { shootRoutes } from './shoots.js';
import { webhookRoutes } from './webhooks.js';

/** The path, and the shoot and frame that it names. Not what stands behind `?`, where people put what is secret. */
function addressOf(url: string): { path: string; shootId?: string; frameName?: string } {
  const [path = ''] = url.split('?');
  const [, shootId, frame] = /^\/v1\/(?:internal\/)?shoots\/([0-9a-f]{32})(?:\/frames\/([^/]+))?/.exec(path) ?? [];
  if (shootId === undefined) return { path };
  return { path, shootId, ...(frame === undefined ? {} : { frameName: decodedName(frame) }) };
}

function decodedName(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** One line a request: what was asked and what came of it, never a header or a body. */
function requestLog(deps: AppDeps): RequestHandler {
  return (request, response, next) => {
    const startedAt = performance.now();
    response.on('close', () => {
      const line = {
        method: request.method,
        ...addressOf(request.originalUrl),
        status: response.statusCode,
        ended: response.writableFinished,
        durationMs: Math.round(performance.now() - startedAt),
      };
      if (response.statusCode >= 500) deps.log.error(line, 'request');
      else deps.log.info(line, 'request');
    });
    next();
  };
}

function refuseWhenShuttingDown(deps: AppDeps): RequestHandler {
  return (_request, response, next) => {
    if (!deps.shuttingDown.aborted) {
      next();
      return;
    }
    response.set('Connection', 'close');
    throw new StopledgerError('shutting-down', 'the service takes no more requests');
  };
}

/** The HTTP API; see `openapi.ts` for its addresses. */
export function createApp(deps: AppDeps): Express {
  const app = express();
  app.disable('x-powered-by');
  app.set('etag', false);
  app.set('query parser', 'simple');
  app.use(requestLog(deps), deps.metrics.requests());
  app.use(
    helmet({
      contentSecurityPolicy: { useDefaults: false, directives: { defaultSrc: ["'none'"], frameAncestors: ["'none'"] } },
      // Whether the connection is encrypted is decided in front of this service.
      strictTransportSecurity: false,
    }),
  );

  const open = Router({ caseSensitive: true });
  healthRoutes(open, deps);
  problemRoutes(open);
  openApiRoutes(open, VERSION);
  metricsRoutes(open, deps);
  app.use(open);

  const forWorkers = Router({ caseSensitive: true });
  internalFrameRoutes(forWorkers, deps);
  app.use(forWorkers);

  // Everything that is not open stands behind the token by its place here, not by how its address is spelt.
  app.use(requireToken(knownTokens(deps.config.apiTokens, deps.config.studioTokens)), refuseWhenShuttingDown(deps));
  app.use(limitRequests(deps.config.maxRequestsPerMinute));
  const api = Router({ caseSensitive: true });
  shootRoutes(api, deps);
  frameRoutes(api, deps);
  reportRoutes(api, deps);
  adviceRoutes(api, deps);
  eventRoutes(api, deps);
  webhookRoutes(api, deps);
  app.use(api);

  app.use((request) => {
    throw new StopledgerError('not-found', `there is nothing at ${request.path}`);
  });
  app.use(problemHandler(deps.log));
  return app;
}
