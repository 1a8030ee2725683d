import type { Router } from 'express';
import type { ShootWebhooks, Webhook } from '../contracts/webhook.js';
import { checkLiteralHost } from '../notify/addresses.js';
import { checkedWebhookUrl } from '../notify/origins.js';
import type { AppDeps } from './deps.js';
import { addressedShoot } from './requests.js';
import { resource } from './resource.js';

/** A webhook as it is kept, its address checked. Throws `bad-webhook`. */
export function checkedWebhook(webhook: Webhook, { config }: Pick<AppDeps, 'config'>): Webhook {
  const { allow, privateRanges } = config.webhooks;
  const url = checkedWebhookUrl(webhook.url, allow);
  checkLiteralHost(url, privateRanges);
  return { url: url.href, on: [...new Set(webhook.on)] };
}

/** `/v1/shoots/{id}/webhooks`: where a shoot's end is told, and how far that is. */
export function webhookRoutes(router: Router, { store }: Pick<AppDeps, 'store'>): void {
  resource(router, '/v1/shoots/:id/webhooks', {
    async get(request, response) {
      const shoot = await addressedShoot(store, request);
      const deliveries = (await store.deliveries.list(shoot.id)).map(
        ({ id, event, url, state, attempts, lastResult, createdAt, nextAttemptAt }) => ({ id, event, url, state, attempts, lastResult, createdAt, nextAttemptAt }), // prettier-ignore
      );
      response.set('Cache-Control', 'no-store').json({ webhook: shoot.webhook, deliveries } satisfies ShootWebhooks);
    },
  });
}
