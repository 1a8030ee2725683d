import type { FrameState } from '../contracts/api.js';
import type { FrameFailure } from '../contracts/jobs.js';
import type { ChangeRelay, ShootChange } from '../store/port.js';

type Listener = (change: ShootChange) => void;

/**
 * Tells who listens to a shoot that it changed: in this process and, through the relay where there is one, in those
 * that share its store. The store is the truth; this only wakes.
 */
export class ShootEvents {
  readonly #listeners = new Map<string, Set<Listener>>();
  readonly #relay: ChangeRelay | null;
  #whenDeleted: (shootId: string) => void = () => undefined;

  constructor(relay: ChangeRelay | null = null) {
    this.#relay = relay;
    relay?.listen((change) => {
      this.#tellHere(change);
    });
  }

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

  /** Called for every shoot that is deleted, here or in another process. One listener. */
  whenDeleted(listener: (shootId: string) => void): void {
    this.#whenDeleted = listener;
  }

  tell(change: ShootChange): void {
    this.#tellHere(change);
    this.#relay?.publish(change);
  }

  frame(shootId: string, name: string, state: FrameState, failure: FrameFailure | null = null): void {
    this.tell({ shootId, frame: { name, state, failure }, deleted: false });
  }

  #tellHere(change: ShootChange): void {
    if (change.deleted) this.#whenDeleted(change.shootId);
    for (const listener of [...(this.#listeners.get(change.shootId) ?? [])]) listener(change);
  }
}
