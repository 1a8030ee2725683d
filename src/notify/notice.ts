import { randomUUID } from 'node:crypto';
import type { ShootReport } from '../contracts/report.js';
import type { Webhook, WebhookBody, WebhookEvent } from '../contracts/webhook.js';

/** Frames named in one webhook. */
const MOST_NAMED = 200;

export interface Notice {
  id: string;
  event: WebhookEvent;
  url: string;
  body: string;
}

/** What a shoot that is done has to tell, one notice for each kind that was asked for and is true. */
export function noticesOf(webhook: Webhook, report: ShootReport, href: string, at: string): Notice[] {
  const { shoot, summary, frames } = report;
  const data: WebhookBody['data'] = {
    shootId: shoot.id,
    name: shoot.name,
    frames: summary.frames,
    consistent: summary.consistent,
    check: summary.check,
    off: summary.off,
    unreadable: summary.unreadable,
    consistentShare: summary.consistentShare,
    findings: summary.findings,
    report: href,
  };
  const notice = (event: WebhookEvent, more: Partial<WebhookBody['data']> = {}): Notice => {
    const body: WebhookBody = { type: `shoot.${event}`, timestamp: at, data: { ...data, ...more } };
    return { id: `msg_${randomUUID().replaceAll('-', '')}`, event, url: webhook.url, body: JSON.stringify(body) };
  };
  const flagged = frames.filter(({ verdict }) => verdict !== 'consistent');
  const notices: Notice[] = [];
  if (webhook.on.includes('completed')) notices.push(notice('completed'));
  if (webhook.on.includes('flagged') && flagged.length > 0) {
    const named = flagged.slice(0, MOST_NAMED).map(({ name, verdict, flags }) => ({ name, verdict, flags: [...new Set(flags.map(({ code }) => code))] })); // prettier-ignore
    notices.push(notice('flagged', { flagged: named, flaggedLeftOut: flagged.length - named.length }));
  }
  return notices;
}
