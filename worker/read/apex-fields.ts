import type { ExposureData } from '../../src/contracts/exposure.js';
import { avFromFNumber, ev100FromApex, svFromIso, tvFromSeconds } from '../../src/photometry/apex.js';
import { exactExposureTimeSeconds, exactFNumber, exactIso } from '../../src/photometry/nominal-scales.js';

type Written = Pick<ExposureData, 'fNumber' | 'exposureTimeSeconds' | 'iso'>;

/** The settings as written, the nominal scales' exact values of them, and APEX from these; null stays null. */
export function withApex({
  fNumber,
  exposureTimeSeconds,
  iso,
}: Written): Written & Pick<ExposureData, 'exact' | 'av' | 'tv' | 'sv' | 'ev100'> {
  const exact = {
    fNumber: fNumber === null ? null : exactFNumber(fNumber).exact,
    exposureTimeSeconds: exposureTimeSeconds === null ? null : exactExposureTimeSeconds(exposureTimeSeconds).exact,
    iso: iso === null ? null : exactIso(iso).exact,
  };
  const av = exact.fNumber === null ? null : avFromFNumber(exact.fNumber);
  const tv = exact.exposureTimeSeconds === null ? null : tvFromSeconds(exact.exposureTimeSeconds);
  const sv = exact.iso === null ? null : svFromIso(exact.iso);
  const ev100 = av === null || tv === null || sv === null ? null : ev100FromApex(av, tv, sv);
  return { fNumber, exposureTimeSeconds, iso, exact, av, tv, sv, ev100 };
}
