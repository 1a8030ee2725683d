import type { Readable } from 'node:stream';
import type { FrameState, ShootProgress } from '../contracts/api.js';
import type { FrameFailure, FrameProducts } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootPlan } from '../contracts/plan.js';
import type { DeliveryState, Webhook, WebhookEvent } from '../contracts/webhook.js';

export interface ShootRecord {
  id: string;
  name: string;
  plan: ShootPlan;
  /** Whose token made it; null: made by the operator, or where there are no tokens. */
  studio: string | null;
  createdAt: string;
  completedAt: string | null;
  /** Rises with every change to the shoot or one of its frames; what was derived from an older version is stale. */
  version: number;
  /** Frames that it holds. */
  frameCount: number;
  webhook: Webhook | null;
}

export interface FrameRecord {
  shootId: string;
  name: string;
  sha256: string;
  bytes: number;
  state: FrameState;
  attempts: number;
  failure: FrameFailure | null;
  receivedAt: string;
}

/** Something happened to a shoot; `frame` is null when it is the shoot itself (completed, deleted). */
export interface ShootChange {
  shootId: string;
  frame: { name: string; state: FrameState; failure: FrameFailure | null } | null;
  deleted: boolean;
}

/**
 * Carries changes between processes that share one store. It only wakes: what it loses (a connection that broke) is
 * found by looking at the store now and then.
 */
export interface ChangeRelay {
  /** To all other processes, soon; never throws. */
  publish(change: ShootChange): void;
  /** Called with what other processes publish. One listener. */
  listen(listener: (change: ShootChange) => void): void;
  close(): Promise<void>;
}

export interface MeasuredFrameRecord extends FrameRecord {
  measurement: FrameMeasurement | null;
}

/** Shoot and frame rows. Every state change is guarded, so doing it twice changes nothing. */
export interface ShootStore {
  createShoot(shoot: {
    id: string;
    name: string;
    plan: ShootPlan;
    studio: string | null;
    webhook?: Webhook;
  }): Promise<ShootRecord>;
  getShoot(id: string): Promise<ShootRecord | null>;
  completeShoot(id: string): Promise<ShootRecord | null>;
  /**
   * The rows of the shoot go, and in the same commit it is noted that what is kept elsewhere has to go, too. With
   * `untouchedSince` only when it was complete before then, or got no frame since. False when it is not there.
   */
  deleteShoot(id: string, untouchedSince?: string): Promise<boolean>;
  /** Shoots that `deleteShoot` would delete with this `untouchedSince`. */
  listUntouched(since: string): Promise<string[]>;
  /** Shoots that are deleted while something of them may be left elsewhere. */
  listRemovals(): Promise<string[]>;
  /** Nothing of it is left. */
  removalDone(id: string): Promise<void>;
  listShoots(): Promise<ShootRecord[]>;

  /**
   * Durable when it returns. `created` false: the same bytes are there already (also after `completeShoot`).
   * Throws `frame-name-taken` for other bytes, `shoot-complete`, `shoot-not-found`, and `too-many-frames` when
   * the shoot holds `maxFrames` already.
   */
  addFrame(frame: NewFrame): Promise<{ frame: FrameRecord; created: boolean }>;
  /** The row without its measurement, which may be large. */
  getFrameRecord(shootId: string, name: string): Promise<FrameRecord | null>;
  getFrame(shootId: string, name: string): Promise<MeasuredFrameRecord | null>;
  /** In the order they were received. */
  listFrames(shootId: string): Promise<MeasuredFrameRecord[]>;
  progress(shootId: string): Promise<ShootProgress>;
  /** received -> measuring, attempts + 1. False when it was not `received`. */
  claimFrame(shootId: string, name: string): Promise<boolean>;
  /** measuring -> received, the attempt not counted: handed back on an orderly shutdown. */
  releaseFrame(shootId: string, name: string): Promise<boolean>;
  /** -> measured. False when it is measured or failed already, or gone. */
  storeMeasurement(shootId: string, name: string, measurement: FrameMeasurement): Promise<boolean>;
  /** -> failed. False when it is measured or failed already, or gone. */
  storeFailure(shootId: string, name: string, failure: FrameFailure): Promise<boolean>;
  /**
   * For the start: measuring -> received (the process ended meanwhile), or -> failed with `frame-process-died`
   * once `maxAttempts` attempts ended so. Returns everything that is `received`, for the queue.
   */
  requeueUnfinished(maxAttempts: number): Promise<FrameRecord[]>;
  /**
   * Frames without an outcome (`received` or `measuring`) of all shoots, in order of coming, from behind `after`; at
   * most `limit`. Costs no more however many frames are done.
   */
  listUnfinished(after: FrameRecord | null, limit: number): Promise<FrameRecord[]>;
  /** For whoever watches the service; the same from every process that shares the store. */
  overview(): Promise<StoreOverview>;
  readonly deliveries: DeliveryStore;
  close(): Promise<void>;
}

export interface StoreOverview {
  /** Frames of all shoots by state. */
  frames: Record<FrameState, number>;
  /** When the frame came that has waited longest to be taken up; null when none waits. */
  oldestReceivedAt: string | null;
}

export interface DeliveryRecord {
  id: string;
  shootId: string;
  /** The studio of the shoot. */
  studio: string | null;
  event: WebhookEvent;
  url: string;
  body: string;
  state: DeliveryState;
  attempts: number;
  lastResult: string | null;
  createdAt: string;
  nextAttemptAt: string | null;
}

/** An attempt of a delivery, named by the time for which it is set; that time never stands twice. */
export interface DeliveryAttempt {
  id: string;
  at: string;
}

/** Webhooks on their way. Every change is guarded, so of several processes one does it. */
export interface DeliveryStore {
  /** Shoots that are complete with every frame done and whose webhook was not put on its way; of all, or of one. */
  listUntold(shootId?: string): Promise<string[]>;
  /** Puts the webhooks of a shoot on their way, once: false when that was done, or the shoot is gone. */
  announce(
    shootId: string,
    at: string,
    deliveries: readonly Pick<DeliveryRecord, 'id' | 'event' | 'url' | 'body'>[],
  ): Promise<boolean>;
  list(shootId: string): Promise<DeliveryRecord[]>;
  /** The next attempt of each that waits, and whose it is. */
  listWaiting(): Promise<(DeliveryAttempt & Pick<DeliveryRecord, 'studio' | 'url'>)[]>;
  /** Takes an attempt, once, and sets the next for `until`, should this process die; null when it is not to be made. */
  claim(attempt: DeliveryAttempt, until: string): Promise<DeliveryRecord | null>;
  /** What came of it; `attempt.at` is the `until` of the claim. */
  settle(
    attempt: DeliveryAttempt,
    outcome: Pick<DeliveryRecord, 'state' | 'lastResult' | 'nextAttemptAt'>,
  ): Promise<boolean>;
}

export interface NewFrame {
  shootId: string;
  name: string;
  sha256: string;
  bytes: number;
  maxFrames: number;
}

/**
 * The bytes of frames, and the pictures made of them. Both are addressed by the SHA-256 of the frame's bytes
 * inside their shoot, so no name given by a client ever becomes part of a path, and keeping twice changes nothing.
 */
export interface FrameFiles {
  /**
   * Streams to where files are kept, hashes while writing, durable before it returns. Throws `frame-too-large` over `maxBytes`,
   * `frame-empty`, `upload-aborted` when the source ends with an error, `storage-full`. Leaves nothing behind then,
   * and never destroys the source.
   */
  receive(source: AsyncIterable<Uint8Array>, maxBytes: number): Promise<ReceivedFile>;
  /** Gives received bytes their place in the shoot; durable when it returns. */
  keep(received: ReceivedFile, shootId: string): Promise<void>;
  discard(received: ReceivedFile): Promise<void>;
  /** Throws `frame-file-missing`. */
  read(shootId: string, sha256: string): Promise<Buffer>;
  /** The bytes as a stream, for whoever need not hold them all; to be read or destroyed. Throws `frame-file-missing`. */
  openRead(shootId: string, sha256: string): Promise<{ bytes: number; stream: Readable }>;
  /** Local path for a process on this machine, or null where there is none. */
  localPath(shootId: string, sha256: string): string | null;
  putProducts(shootId: string, sha256: string, products: FrameProducts): Promise<void>;
  getProduct(shootId: string, sha256: string, product: keyof FrameProducts): Promise<Buffer | null>;
  deleteShoot(shootId: string): Promise<void>;
  /**
   * For the start: removes what was being received and did not change for `idleMs` (0 where no other process can be
   * receiving), and the files of shoots that are not `known`, which is asked after their files were seen: a shoot is
   * known before its first file comes, so one that another process has just made is never taken for an unknown one.
   */
  sweep(known: (shootId: string) => Promise<boolean>, idleMs: number): Promise<void>;
  /** Throws when nothing can be written. */
  check(): Promise<void>;
}

export interface ReceivedFile {
  tempId: string;
  sha256: string;
  bytes: number;
}
