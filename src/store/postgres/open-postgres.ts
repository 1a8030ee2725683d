import { Kysely, PostgresDialect } from 'kysely';
import { migrate } from '../migrations.js';
import type { ShootStore } from '../port.js';
import { createShootStore } from '../shoot-store.js';
import type { Tables } from '../tables.js';
import { type DatabaseLink, connectDatabase } from './connection.js';
import { databaseError, isAway } from './database-error.js';

/** The same store, whose errors say when the database is away and that trying again may help. */
function withKnownErrors(store: ShootStore): ShootStore {
  const known = async <T>(work: Promise<T>): Promise<T> => {
    try {
      return await work;
    } catch (error) {
      throw databaseError(error);
    }
  };
  const { deliveries } = store;
  return {
    createShoot: (shoot) => known(store.createShoot(shoot)),
    getShoot: (id) => known(store.getShoot(id)),
    completeShoot: (id) => known(store.completeShoot(id)),
    deleteShoot: (id, untouchedSince) => known(store.deleteShoot(id, untouchedSince)),
    listUntouched: (since) => known(store.listUntouched(since)),
    listRemovals: () => known(store.listRemovals()),
    removalDone: (id) => known(store.removalDone(id)),
    listShoots: () => known(store.listShoots()),
    addFrame: (frame) => known(store.addFrame(frame)),
    getFrameRecord: (shootId, name) => known(store.getFrameRecord(shootId, name)),
    getFrame: (shootId, name) => known(store.getFrame(shootId, name)),
    listFrames: (shootId) => known(store.listFrames(shootId)),
    progress: (shootId) => known(store.progress(shootId)),
    claimFrame: (shootId, name) => known(store.claimFrame(shootId, name)),
    releaseFrame: (shootId, name) => known(store.releaseFrame(shootId, name)),
    storeMeasurement: (shootId, name, measurement) => known(store.storeMeasurement(shootId, name, measurement)),
    storeFailure: (shootId, name, failure) => known(store.storeFailure(shootId, name, failure)),
    requeueUnfinished: (maxAttempts) => known(store.requeueUnfinished(maxAttempts)),
    listUnfinished: (after, limit) => known(store.listUnfinished(after, limit)),
    deliveries: {
      listUntold: (shootId) => known(deliveries.listUntold(shootId)),
      announce: (shootId, at, all) => known(deliveries.announce(shootId, at, all)),
      list: (shootId) => known(deliveries.list(shootId)),
      listWaiting: () => known(deliveries.listWaiting()),
      claim: (attempt, until) => known(deliveries.claim(attempt, until)),
      settle: (attempt, outcome) => known(deliveries.settle(attempt, outcome)),
    },
    overview: () => known(store.overview()),
    close: () => known(store.close()),
  };
}

/**
 * The shoot records in a PostgreSQL that any number of processes share. Every write locks the row of its shoot first,
 * so that versions rise one by one and no two processes wait for each other in a circle. Throws `bad-configuration`.
 */
export async function openPostgresStore(link: DatabaseLink): Promise<ShootStore> {
  const pool = await connectDatabase(link);
  const db = new Kysely<Tables>({ dialect: new PostgresDialect({ pool }) });
  try {
    await migrate(db, 'postgres');
  } catch (error) {
    await db.destroy();
    throw error;
  }
  return withKnownErrors(
    createShootStore(db, {
      lock: (trx, shootId) => trx.selectFrom('shoots').select('id').where('id', '=', shootId).forUpdate().execute(),
      spoilsAll: isAway,
    }),
  );
}
