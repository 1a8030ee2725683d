import type { Flag } from '../../contracts/report.js';
import type { FrameContext } from '../setup-state.js';
import { percent } from '../wording.js';

/*
 * Shares above which lost detail is told. Ours; common practice, no single source: a nose or a button may
 * burn out, a connected half per cent of the frame may not. What the whole set-up does (a white ground on
 * purpose, a black one) is no fault of one frame: it counts against the set-up's own median.
 */
export const CLIPPING_LIMITS = {
  highlights: { areaShare: 0.005, totalShare: 0.01, faultAreaShare: 0.03 },
  face: { checkShare: 0.01, faultShare: 0.05 },
  blacks: { checkShare: 0.08, faultShare: 0.25 },
} as const;

export function clippingFlags({ frame, setup }: FrameContext): Flag[] {
  const { highlights, blacks } = frame.facts.measurement.clipping;
  const { medians } = setup;
  const flags: Flag[] = [];
  const face = highlights.inFacesShare ?? 0;
  if (face > CLIPPING_LIMITS.face.checkShare)
    flags.push({
      code: 'face-clipped',
      severity: face > CLIPPING_LIMITS.face.faultShare ? 'fault' : 'check',
      region: 'face',
      because: `${percent(face)} of the face is at the top of the scale in at least one channel (looked at from ${percent(CLIPPING_LIMITS.face.checkShare)}); no correction brings that back.`,
    });
  const area = highlights.largestAreaShare - (medians.largestHighlightAreaShare ?? 0);
  const total = highlights.anyChannelShare - (medians.highlightsShare ?? 0);
  if (
    highlights.largestAreaShare > CLIPPING_LIMITS.highlights.areaShare &&
    highlights.anyChannelShare > CLIPPING_LIMITS.highlights.totalShare
  ) {
    const usual = area <= CLIPPING_LIMITS.highlights.areaShare && total <= CLIPPING_LIMITS.highlights.totalShare;
    flags.push({
      code: 'highlights-clipped',
      severity: usual ? 'note' : area > CLIPPING_LIMITS.highlights.faultAreaShare ? 'fault' : 'check',
      region: 'frame',
      because: `${percent(highlights.anyChannelShare)} of the frame is at the top of the scale, ${percent(highlights.largestAreaShare)} in one piece${usual ? `, as in the rest of ${setup.id}` : ''}.`,
    });
  }
  const black = blacks.allChannelsShare;
  if (black > CLIPPING_LIMITS.blacks.checkShare) {
    const more = black - (medians.blacksShare ?? 0);
    const usual = more <= CLIPPING_LIMITS.blacks.checkShare;
    flags.push({
      code: 'blacks-clipped',
      severity: usual ? 'note' : more > CLIPPING_LIMITS.blacks.faultShare ? 'fault' : 'check',
      region: 'frame',
      because: `${percent(black)} of the frame is at the bottom of the scale${usual ? `, as in the rest of ${setup.id}` : ''}.`,
    });
  }
  return flags;
}
