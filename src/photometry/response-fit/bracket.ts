import { linearToSrgbEncoded } from '../srgb.js';

/** A bracket as fitting sees it: small flat places ("sites") of a still scene, seen at several exposures. */

export interface SiteReading {
  /** Which frame of the bracket. */
  frame: number;
  /** File-linear value of one channel there, 0..1. */
  fileLinear: number;
  /** 0..1: how much it says; low near both ends of the code scale. */
  weight: number;
}

export type Site = readonly SiteReading[];

export interface Bracket {
  /** True exposure of each frame in stops, relative; larger is brighter. */
  exposureStops: readonly number[];
  sites: readonly Site[];
}

export interface BracketFrameSamples {
  exposureStops: number;
  /** File-linear means of blocks, three channels; one grid for all frames. */
  blockLinear: Float32Array;
  /** Standard deviation of the block's values over their mean. */
  blockSpread: Float32Array;
  /** 1 where any of the block's pixels is at an end of the scale. */
  blockClipped: Uint8Array;
}

/** Darker than this holds too few codes to read a ratio from (code 8 of 255 in sRGB). */
const DARKEST_FILE_LINEAR = 0.0024;
/** Blocks that vary by more are edges or texture: their mean is not the response of their mean. */
const LARGEST_SPREAD = 0.15;
/** A site whose readings contradict the order of the exposures moved. */
const ORDER_SLACK = 1.0;

/**
 * Picks the usable sites: flat, unclipped, seen in two frames or more, brighter wherever the exposure is more.
 * Frames come in any order; `exposureStops` of the result is ascending.
 */
export function bracketFromSamples(frames: readonly BracketFrameSamples[]): Bracket {
  const ordered = [...frames].sort((a, b) => a.exposureStops - b.exposureStops);
  const length = ordered[0]?.blockLinear.length ?? 0;
  const sites: Site[] = [];
  for (let i = 0; i < length; i++) {
    const site: SiteReading[] = [];
    let moved = false;
    ordered.forEach((frame, index) => {
      const y = frame.blockLinear[i]!;
      if (frame.blockClipped[i] === 1 || y < DARKEST_FILE_LINEAR || frame.blockSpread[i]! > LARGEST_SPREAD) return;
      const before = site.at(-1);
      if (before && y <= before.fileLinear * ORDER_SLACK) moved = true;
      const code = linearToSrgbEncoded(y);
      // The hat of Debevec & Malik (1997), eq. 4: least weight where the response is known worst.
      site.push({ frame: index, fileLinear: y, weight: 2 * Math.min(code, 1 - code) });
    });
    if (!moved && site.length >= 2) sites.push(site);
  }
  return { exposureStops: ordered.map((f) => f.exposureStops), sites };
}

/** The part of a bracket that uses only the given frames. */
export function keepFrames(bracket: Bracket, frames: ReadonlySet<number>): Bracket {
  const sites = bracket.sites.map((s) => s.filter((r) => frames.has(r.frame))).filter((s) => s.length >= 2);
  return { exposureStops: bracket.exposureStops, sites };
}
