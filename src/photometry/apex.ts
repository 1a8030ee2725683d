import { requireFinite, requirePositive } from './checks.js';

/**
 * APEX constant N of Sv = log2(N x S) as Exif 2.3 fixes it, which makes ISO 100 exactly Sv 5. (ASA
 * PH2.5-1960 and its successors print 0.30 and 0.3162; Exif's is the one that camera files use.)
 */
export const APEX_SPEED_CONSTANT = 1 / 3.125;

/** Sv of ISO 100: log2(100 / 3.125). */
export const SV_OF_ISO_100 = 5;

/** Reflected-light meter constant in cd s / (m2 ISO); ISO 2720:1974 allows 10.6 to 13.4, makers use 12.5. */
export const METER_CONSTANT_K = 12.5;

/** Incident-light meter constant in lx s / ISO for a flat receptor; ISO 2720:1974 allows 240 to 400, 250 in use. */
export const METER_CONSTANT_C = 250;

export interface CameraExposure {
  fNumber: number;
  exposureTimeSeconds: number;
  iso: number;
}

/** Aperture value: log2(N^2). @throws quantity-out-of-range unless above 0. @example avFromFNumber(8) // 6 */
export function avFromFNumber(fNumber: number): number {
  return 2 * Math.log2(requirePositive('fNumber', fNumber));
}

/** f-number of an aperture value: 2^(Av / 2). */
export function fNumberFromAv(av: number): number {
  return 2 ** (requireFinite('av', av) / 2);
}

/** Time value: -log2(t). @throws quantity-out-of-range unless above 0. @example tvFromSeconds(1 / 64) // 6 */
export function tvFromSeconds(exposureTimeSeconds: number): number {
  return -Math.log2(requirePositive('exposureTimeSeconds', exposureTimeSeconds));
}

/** Exposure time in seconds of a time value: 2^-Tv. */
export function secondsFromTv(tv: number): number {
  return 2 ** -requireFinite('tv', tv);
}

/** Speed value: log2(S / 3.125). @throws quantity-out-of-range unless above 0. @example svFromIso(100) // 5 */
export function svFromIso(iso: number): number {
  return Math.log2(requirePositive('iso', iso) * APEX_SPEED_CONSTANT);
}

/** ISO speed of a speed value: 3.125 x 2^Sv. */
export function isoFromSv(sv: number): number {
  return 2 ** requireFinite('sv', sv) / APEX_SPEED_CONSTANT;
}

/** Brightness value of the metered scene by the APEX equation Av + Tv = Bv + Sv. */
export function bvFromApex(av: number, tv: number, sv: number): number {
  return av + tv - sv;
}

/** Exposure value at ISO 100 from APEX values: Av + Tv - (Sv - 5). */
export function ev100FromApex(av: number, tv: number, sv: number): number {
  return av + tv - (sv - SV_OF_ISO_100);
}

/**
 * Absolute camera exposure: log2(N^2 / t) - log2(S / 100).
 *
 * @example ev100FromSettings({ fNumber: 16, exposureTimeSeconds: 1 / 100, iso: 100 }) // 14.643856...
 */
export function ev100FromSettings({ fNumber, exposureTimeSeconds, iso }: CameraExposure): number {
  return ev100FromApex(avFromFNumber(fNumber), tvFromSeconds(exposureTimeSeconds), svFromIso(iso));
}

/** Scene luminance in cd/m2 that a meter with K = 12.5 answers with this EV100: L = 2^EV x K / 100. */
export function luminanceFromEv100(ev100: number): number {
  return (2 ** requireFinite('ev100', ev100) * METER_CONSTANT_K) / 100;
}

/** EV100 of a scene luminance in cd/m2, K = 12.5. @throws quantity-out-of-range unless above 0. */
export function ev100FromLuminance(luminance: number): number {
  return Math.log2((requirePositive('luminance', luminance) * 100) / METER_CONSTANT_K);
}

/** Illuminance in lux that a flat-receptor meter with C = 250 answers with this EV100: E = 2^EV x C / 100. */
export function illuminanceFromEv100(ev100: number): number {
  return (2 ** requireFinite('ev100', ev100) * METER_CONSTANT_C) / 100;
}

/**
 * EV100 of an illuminance in lux: N^2 / t = E S / C (ISO 2720:1974).
 *
 * @param meterConstantC lx s; 250 for a flat receptor, 320 to 340 in use for domes
 * @throws quantity-out-of-range unless both are above 0
 * @example ev100FromIlluminance(640) // 8
 */
export function ev100FromIlluminance(illuminance: number, meterConstantC = METER_CONSTANT_C): number {
  return Math.log2(
    (requirePositive('illuminance', illuminance) * 100) / requirePositive('meterConstantC', meterConstantC),
  );
}

/**
 * f-number that gives an EV100 at a time and a speed: N = sqrt(t x 2^EV x S / 100).
 *
 * @throws quantity-out-of-range unless time and speed are above 0.
 */
export function fNumberForEv100(ev100: number, exposureTimeSeconds: number, iso: number): number {
  return fNumberFromAv(
    requireFinite('ev100', ev100) - tvFromSeconds(exposureTimeSeconds) + svFromIso(iso) - SV_OF_ISO_100,
  );
}
