import type { LogChroma } from './region-chroma.js';

/**
 * How far leg skin may stand from the face's skin in log chromaticity (stops of R/G and B/G), as a lopsided
 * ellipse. Legs are often deeper coloured or redder than a face (sun, blood, less gloss), seldom less
 * coloured; cloth often is. Chosen on rendered figures, common practice gives no figures.
 */
const REACH = { lessColour: 0.34, moreColour: 0.7, redder: 0.5, greener: 0.26 } as const;

/** The direction of more colour for skin of any depth: R/G rises as B/G falls (unit vector). */
const MORE_COLOUR = { rg: 0.82, bg: -0.57 } as const;

/**
 * Distance of a colour from a reference skin in units of the reach: below 1 it can be skin. A change of white
 * balance moves both alike, so the distance does not depend on it.
 */
export function skinDistance(rg: number, bg: number, skin: LogChroma): number {
  const dRg = rg - skin.rg;
  const dBg = bg - skin.bg;
  const colour = dRg * MORE_COLOUR.rg + dBg * MORE_COLOUR.bg;
  const red = dRg * -MORE_COLOUR.bg + dBg * MORE_COLOUR.rg;
  const colourReach = colour < 0 ? REACH.lessColour : REACH.moreColour;
  const redReach = red < 0 ? REACH.greener : REACH.redder;
  // Not Math.hypot: it is asked for every pixel of a leg.
  return Math.sqrt((colour / colourReach) ** 2 + (red / redReach) ** 2);
}
