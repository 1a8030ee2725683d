import type { CameraCalibration } from '../contracts/calibration.js';
import type { Request } from 'express';
import type { MeasuringOptions as Options } from '../contracts/options.js';
import { MeasuringOptions } from '../contracts/options.js';
import { StopledgerError } from '../errors.js';
import { callerOf } from './callers.js';
import type { FrameRecord, ShootRecord, ShootStore } from '../store/port.js';
import { checkedFrameName } from './frame-name.js';

/** A path parameter, decoded once already by the router. */
export function pathParameter(request: Request, name: string): string {
  const value = request.params[name];
  if (typeof value !== 'string') throw new StopledgerError('internal', `the route has no parameter ${name}`);
  return value;
}

/** The shoot that the address names. Throws `shoot-not-found`, also for one of another studio than the caller's. */
export async function addressedShoot(store: ShootStore, request: Request): Promise<ShootRecord> {
  const id = pathParameter(request, 'id');
  const shoot = await store.getShoot(id);
  const { studio } = callerOf(request);
  if (shoot === null || (studio !== null && shoot.studio !== studio))
    throw new StopledgerError('shoot-not-found', `there is no shoot ${JSON.stringify(id)}`);
  return shoot;
}

/** The frame that the address names. Throws `shoot-not-found`, `bad-frame-name` or `frame-not-found`. */
export async function addressedFrame(
  store: ShootStore,
  request: Request,
): Promise<{ shoot: ShootRecord; frame: FrameRecord }> {
  const shoot = await addressedShoot(store, request);
  const name = checkedFrameName(pathParameter(request, 'name'));
  const frame = await store.getFrameRecord(shoot.id, name);
  if (frame === null) {
    throw new StopledgerError('frame-not-found', `shoot ${shoot.id} has no frame ${JSON.stringify(name)}`);
  }
  return { shoot, frame };
}

/** `?wait=seconds`: how long an answer may be held back until it is there. 0 when not asked for. */
export function waitSeconds(request: Request, mostSeconds: number): number {
  const given = request.query.wait;
  if (given === undefined) return 0;
  const seconds = typeof given === 'string' && /^\d+(\.\d+)?$/.test(given) ? Number(given) : NaN;
  if (!(seconds <= mostSeconds)) {
    const received = JSON.stringify(given);
    throw new StopledgerError('bad-request', `wait: seconds from 0 to ${mostSeconds} expected, received ${received}`);
  }
  return seconds;
}

export const shootHref = (shootId: string): string => `/v1/shoots/${shootId}`;
export const frameHref = (shootId: string, name: string): string =>
  `${shootHref(shootId)}/frames/${encodeURIComponent(name)}`;

/** How the frames of a shoot are measured, which follows from its plan and from the cameras that are calibrated. */
export function measuringOptionsOf(shoot: ShootRecord, calibrations: readonly CameraCalibration[]): Options {
  return MeasuringOptions.parse({ toneResponse: shoot.plan.toneResponse, calibrations });
}
