import type { FrameState } from '../contracts/api.js';
import type { FrameFailure } from '../contracts/jobs.js';

/** Something happened to a shoot; `frame` is null when it is the shoot itself (completed, deleted). */
export interface ShootChange {
  shootId: string;
  frame: { name: string; state: FrameState; failure: FrameFailure | null } | null;
  deleted: boolean;
}

type Listener = (change: ShootChange) => void;

/** Tells, inside this process, who listens to a shoot that it changed. The store is the truth; this only wakes. */
export class ShootEvents {
  readonly #listeners = new Map<string, Set<Listener>>();

  /** Returns how to stop listening. */
  listen(shootId: string, listener: Listener): () => void {
    let listeners = this.#listeners.get(shootId);
    if (listeners === undefined) {
      listeners = new Set();
      this.#listeners.set(shootId, listeners);
    }
    const here = listeners;
    here.add(listener);
    return () => {
      here.delete(listener);
      if (here.size === 0 && this.#listeners.get(shootId) === here) this.#listeners.delete(shootId);
    };
  }

  tell(change: ShootChange): void {
    for (const listener of [...(this.#listeners.get(change.shootId) ?? [])]) listener(change);
  }

  frame(shootId: string, name: string, state: FrameState, failure: FrameFailure | null = null): void {
    this.tell({ shootId, frame: { name, state, failure }, deleted: false });
  }
}
