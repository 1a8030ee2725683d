import type { CameraCalibration } from '../contracts/calibration.js';
import type { MeasureJob } from '../contracts/jobs.js';
import type { FrameRecord, ShootRecord, ShootStore } from '../store/port.js';
import { measuringOptionsOf } from './requests.js';

/** Frames asked for at a time. */
const PAGE = 500;

/** Everything whose outcome the store waits for, as jobs, a page at a time and in order of coming. */
export async function* unfinishedJobs(
  store: Pick<ShootStore, 'getShoot' | 'listUnfinished'>,
  calibrations: readonly CameraCalibration[],
): AsyncGenerator<MeasureJob[]> {
  let last: FrameRecord | null = null;
  do {
    const frames: FrameRecord[] = await store.listUnfinished(last, PAGE);
    const shoots = new Map<string, ShootRecord | null>();
    const jobs: MeasureJob[] = [];
    for (const { shootId, name: frameName, sha256 } of frames) {
      let shoot = shoots.get(shootId);
      if (shoot === undefined) shoots.set(shootId, (shoot = await store.getShoot(shootId)));
      // Deleted meanwhile otherwise.
      if (shoot !== null) jobs.push({ shootId, frameName, sha256, options: measuringOptionsOf(shoot, calibrations) });
    }
    yield jobs;
    last = frames.length < PAGE ? null : (frames.at(-1) ?? null);
  } while (last !== null);
}
