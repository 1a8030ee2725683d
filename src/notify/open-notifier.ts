import type { Config } from '../config.js';
import { redisLink } from '../queue/open-queue.js';
import { type Notifier, type NotifierParts, SILENT, createNotifier } from './notifier.js';
import { createTimerSchedule } from './schedule.js';

/** The webhooks that the configuration asks for, retried over Redis where there is one. Throws `bad-configuration`. */
export async function openNotifier(
  config: Config,
  parts: Omit<NotifierParts, 'settings' | 'schedule'>,
): Promise<Notifier> {
  const { webhooks: settings, redisUrl } = config;
  if (settings.allow.length === 0) return SILENT;
  if (redisUrl === '') return createNotifier({ ...parts, settings, schedule: createTimerSchedule(parts.now) });
  // Loaded only where it is asked for: the embedded service starts without it.
  const { openBullmqSchedule } = await import('./bullmq-schedule.js');
  const schedule = await openBullmqSchedule(redisLink(config, parts.log), parts.now);
  return createNotifier({ ...parts, settings, schedule });
}
