import type { Person } from '../../src/contracts/people.js';
import type { ChannelShares, Clipping } from '../../src/contracts/tone.js';
import type { z } from 'zod';
import type { DecodedFrame } from '../decode/decoded-frame.js';
import { largestConnectedArea } from './connected-area.js';
import type { ChannelCounts } from './block-rows.js';
import { blackToCode, type Reduction } from './reduce.js';
import type { WorkingImage } from './working-image.js';

/** Clipping at both ends: exact shares from every source pixel, areas from the working image. */
export function clippingOf(
  reduction: Reduction,
  image: WorkingImage,
  frame: DecodedFrame,
  people: readonly Person[],
): Clipping {
  const highlightArea = largestConnectedArea(image.clippedShare, image.widthPx, image.heightPx);
  const blackArea = largestConnectedArea(image.blackShare, image.widthPx, image.heightPx);
  return {
    highlights: {
      ...shares(reduction.top, reduction.pixels),
      fromCode8: (Math.min(...frame.clipFromCode) * 255) / frame.maxCode,
      largestAreaShare: highlightArea.share,
      largestAreaBox: highlightArea.box,
      inFacesShare: shareInFaces(people),
    },
    blacks: {
      ...shares(reduction.bottom, reduction.pixels),
      toCode8: (blackToCode(frame) * 255) / frame.maxCode,
      largestAreaShare: blackArea.share,
      largestAreaBox: blackArea.box,
    },
  };
}

function shares(counts: ChannelCounts, pixels: number): z.infer<typeof ChannelShares> {
  return {
    anyChannelShare: counts.any / pixels,
    redShare: counts.red / pixels,
    greenShare: counts.green / pixels,
    blueShare: counts.blue / pixels,
    allChannelsShare: counts.all / pixels,
  };
}

/** Faces weighted by their pixels. */
function shareInFaces(people: readonly Person[]): number | null {
  let pixels = 0;
  let clipped = 0;
  for (const { face } of people) {
    if (!face) continue;
    const area = Math.max(face.usedPixels, 1);
    pixels += area;
    clipped += area * face.clippedShare;
  }
  return pixels > 0 ? clipped / pixels : null;
}
