import type { RenderingKey } from '../../src/contracts/calibration.js';
import type { ExposureData } from '../../src/contracts/exposure.js';

/** What a calibration is kept under; null for files that do not say which camera made them. */
export function renderingKeyOf(exposure: ExposureData, profileDescription: string | null): RenderingKey | null {
  const { cameraMake, cameraModel, renderingSettings } = exposure;
  if (cameraModel === null) return null;
  return {
    cameraMake: cameraMake ?? '',
    cameraModel,
    rendering: `${renderingSettings ?? 'no settings written'}; profile ${profileDescription ?? 'none'}`,
  };
}

export function sameKey(a: RenderingKey, b: RenderingKey): boolean {
  return a.cameraMake === b.cameraMake && a.cameraModel === b.cameraModel && a.rendering === b.rendering;
}
