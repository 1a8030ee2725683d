import type { ExposureData } from '../../contracts/exposure.js';

type CameraData = Pick<ExposureData, 'cameraMake' | 'cameraModel' | 'cameraSerial'>;

/**
 * A serial number as it is compared. One file of a camera may pad it with zeros, another not (one tag holds text, another a
 * number). Null: unknown.
 */
function serialOf({ cameraSerial }: CameraData): string | null {
  const bare = cameraSerial?.trim().replace(/^0+/, '') ?? '';
  return bare === '' ? null : bare;
}

/** Whether two files can be of one camera: one model, and equal serial numbers, or either unknown. */
export function canBeOneCamera(a: CameraData, b: CameraData): boolean {
  if (a.cameraModel !== b.cameraModel) return false;
  if (a.cameraMake !== null && b.cameraMake !== null && a.cameraMake !== b.cameraMake) return false;
  const [serialA, serialB] = [serialOf(a), serialOf(b)];
  return serialA === null || serialB === null || serialA === serialB;
}

/**
 * Names each file's camera among those of a shoot. Files without a serial number (often the JPEG beside a raw that has one)
 * go to the only camera of their model; where the shoot has several of that model they are named apart, since they could be of any.
 */
export function cameraNames(shoot: readonly CameraData[]): (of: CameraData) => string {
  const modelOf = ({ cameraMake, cameraModel }: CameraData) => JSON.stringify([cameraMake, cameraModel]);
  const serials = new Map<string, Set<string>>();
  for (const camera of shoot) {
    const serial = serialOf(camera);
    if (serial === null) continue;
    const known = serials.get(modelOf(camera)) ?? new Set<string>();
    serials.set(modelOf(camera), known.add(serial));
  }
  return (camera) => {
    const known = serials.get(modelOf(camera));
    const only = known?.size === 1 ? [...known][0] : undefined;
    return JSON.stringify([modelOf(camera), serialOf(camera) ?? only ?? null]);
  };
}
