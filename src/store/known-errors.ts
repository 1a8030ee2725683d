import type { ShootStore } from './port.js';

/** The same store, whose errors are told in our own words: that the database is away or full, and that trying again may help. */
export function withKnownErrors(store: ShootStore, translate: (error: unknown) => unknown): ShootStore {
  const known = async <T>(work: Promise<T>): Promise<T> => {
    try {
      return await work;
    } catch (error) {
      throw translate(error);
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
