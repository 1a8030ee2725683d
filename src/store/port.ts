import type { FrameState, ShootProgress } from '../contracts/api.js';
import type { FrameFailure, FrameProducts } from '../contracts/jobs.js';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootPlan } from '../contracts/plan.js';

export interface ShootRecord {
  id: string;
  name: string;
  plan: ShootPlan;
  createdAt: string;
  completedAt: string | null;
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

export interface MeasuredFrameRecord extends FrameRecord {
  measurement: FrameMeasurement | null;
}

/** Shoot and frame rows. Every state change is guarded, so doing it twice changes nothing. */
export interface ShootStore {
  createShoot(shoot: { id: string; name: string; plan: ShootPlan }): Promise<ShootRecord>;
  getShoot(id: string): Promise<ShootRecord | null>;
  completeShoot(id: string): Promise<ShootRecord | null>;
  deleteShoot(id: string): Promise<boolean>;
  listShoots(): Promise<ShootRecord[]>;

  /** `created` false: the same bytes are there already. Throws `frame-name-taken` for other bytes. */
  addFrame(frame: { shootId: string; name: string; sha256: string; bytes: number }): Promise<{ frame: FrameRecord; created: boolean }>;
  getFrame(shootId: string, name: string): Promise<MeasuredFrameRecord | null>;
  listFrames(shootId: string): Promise<MeasuredFrameRecord[]>;
  progress(shootId: string): Promise<ShootProgress>;
  /** received -> measuring, attempts + 1. False when it was not `received`. */
  claimFrame(shootId: string, name: string): Promise<boolean>;
  /** -> measured. False when it is measured or failed already, or gone. */
  storeMeasurement(shootId: string, name: string, measurement: FrameMeasurement): Promise<boolean>;
  /** -> failed. False when it is measured or failed already, or gone. */
  storeFailure(shootId: string, name: string, failure: FrameFailure): Promise<boolean>;
  /** measuring -> received (after a crash), and everything waiting, for the queue. */
  requeueUnfinished(maxAttempts: number): Promise<FrameRecord[]>;
  close(): Promise<void>;
}

/** The bytes of frames, and the pictures made of them. */
export interface FrameFiles {
  /** Streams to disk, hashes while writing, synced before it returns. Refuses over `maxBytes` with `frame-too-large`. */
  receive(shootId: string, source: AsyncIterable<Uint8Array>, maxBytes: number): Promise<ReceivedFile>;
  /** Gives a received file its name; returns when the folder is synced too. */
  keep(received: ReceivedFile, shootId: string, frameName: string): Promise<void>;
  discard(received: ReceivedFile): Promise<void>;
  read(shootId: string, frameName: string): Promise<Buffer>;
  /** Local path for a process on this machine, or null where there is none. */
  localPath(shootId: string, frameName: string): string | null;
  putProducts(shootId: string, frameName: string, products: FrameProducts): Promise<void>;
  getProduct(shootId: string, frameName: string, product: keyof FrameProducts): Promise<Buffer | null>;
  deleteShoot(shootId: string): Promise<void>;
}

export interface ReceivedFile {
  tempId: string;
  sha256: string;
  bytes: number;
}
