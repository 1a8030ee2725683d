import type { Logger } from 'pino';
import type { Config } from '../config.js';
import { openSqliteStore } from './open-sqlite.js';
import type { ChangeRelay, ShootStore } from './port.js';

export interface ShootRecords {
  store: ShootStore;
  /** Carries changes to the other processes that share the store; null where there is none. */
  changes: ChangeRelay | null;
  close(): Promise<void>;
}

/** The same trouble is told once in so long: a database that is away fails every attempt to reconnect. */
const TELL_AGAIN_MS = 30_000;

/** The shoot records that the configuration asks for. Throws `bad-configuration`. */
export async function openShootRecords(config: Config, log: Logger): Promise<ShootRecords> {
  if (config.databaseUrl === '') {
    const store = await openSqliteStore(config.dataDir);
    return { store, changes: null, close: () => store.close() };
  }
  let toldAt = -Infinity;
  const onTrouble = ({ message }: Error): void => {
    if (performance.now() - toldAt < TELL_AGAIN_MS) return;
    toldAt = performance.now();
    log.warn({ reason: message }, 'trouble with PostgreSQL; it is tried again');
  };
  const link = { url: config.databaseUrl, onTrouble };
  // Loaded only where they are asked for: the embedded service starts without them.
  const { openPostgresStore } = await import('./postgres/open-postgres.js');
  const { openPostgresChanges } = await import('./postgres/changes.js');
  const store = await openPostgresStore(link);
  const changes = await openPostgresChanges(link);
  return {
    store,
    changes,
    async close() {
      await changes.close();
      await store.close();
    },
  };
}
