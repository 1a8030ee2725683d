import type { ShootProgress } from '../contracts/api.js';
import type { ShootRecord, ShootStore } from '../store/port.js';

/** Shoots whose counts are kept. */
const KEPT = 1000;

/** Counts of a shoot's frames by state, counted once for each version of the shoot however many ask. */
export class ProgressByVersion {
  readonly #store: Pick<ShootStore, 'progress'>;
  readonly #kept = new Map<string, { version: number; progress: Promise<ShootProgress> }>();

  constructor(store: Pick<ShootStore, 'progress'>) {
    this.#store = store;
  }

  forget(shootId: string): void {
    this.#kept.delete(shootId);
  }

  of(shoot: ShootRecord): Promise<ShootProgress> {
    const kept = this.#kept.get(shoot.id);
    if (kept?.version === shoot.version) return kept.progress;
    const progress = this.#store.progress(shoot.id);
    const made = { version: shoot.version, progress };
    this.#kept.delete(shoot.id);
    this.#kept.set(shoot.id, made);
    progress.catch(() => {
      if (this.#kept.get(shoot.id) === made) this.#kept.delete(shoot.id);
    });
    for (const oldest of this.#kept.keys()) {
      if (this.#kept.size <= KEPT) break;
      this.#kept.delete(oldest);
    }
    return progress;
  }
}
