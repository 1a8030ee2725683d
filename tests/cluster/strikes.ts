import { setTimeout as delay } from 'node:timers/promises';
import type { Random } from '../../samples/make/random.js';
import type { Cluster } from './cluster.js';
import type { PowerCut } from './power-cut.js';

/** A dead process is started again after up to so long, as whatever supervises it would. */
const LONGEST_AWAY_MS = 1500;
const STARTS_TRIED = 20;

export const SCENARIOS = ['worker', 'api', 'redis-always', 'redis-everysec', 'postgres'] as const;
export type Scenario = (typeof SCENARIOS)[number];

export const ABOUT: Record<Scenario, string> = {
  worker: 'a worker, kill -9',
  api: 'a service, kill -9',
  'redis-always': 'Redis (appendfsync always), kill -9',
  'redis-everysec': 'Redis (appendfsync everysec), kill -9 and its last second cut off',
  postgres: 'PostgreSQL, kill -9',
};

/** Starts it; what it needs may be away at that moment, too. */
async function startAgain(start: () => Promise<unknown>): Promise<void> {
  for (let tries = 1; ; tries += 1) {
    try {
      await start();
      return;
    } catch (error) {
      if (tries >= STARTS_TRIED) throw error;
      await delay(250);
    }
  }
}

/** Kills one part of the cluster and starts it again; says which and when it was back. */
export async function strike(scenario: Scenario, cluster: Cluster, power: PowerCut, random: Random): Promise<string> {
  const away = (): Promise<void> => delay(random.uniform() * LONGEST_AWAY_MS);
  const oneOf = <T>(items: readonly T[]): T => items[Math.floor(random.uniform() * items.length)] as T;
  switch (scenario) {
    case 'worker':
    case 'api': {
      const victim = oneOf(scenario === 'worker' ? cluster.workers : cluster.apis);
      await victim.kill('SIGKILL');
      await away();
      await startAgain(() => victim.start());
      return victim.name;
    }
    case 'redis-always':
      await cluster.redis.stop('SIGKILL');
      await away();
      await startAgain(() => cluster.redis.restart());
      return 'redis';
    case 'redis-everysec': {
      const lostBytes = await power.strike();
      await away();
      await startAgain(() => cluster.redis.restart());
      return `redis, ${lostBytes} bytes lost`;
    }
    case 'postgres':
      await cluster.postgres.stop('SIGKILL');
      await away();
      await startAgain(() => cluster.postgres.restart());
      return 'postgres';
  }
}
