import type { Flag, FlagCode, Verdict } from '../contracts/report.js';
import { castFlags } from './causes/cast.js';
import { clippingFlags } from './causes/clipping.js';
import { driftFlags } from './causes/drift.js';
import { dataFlags } from './causes/data.js';
import { departureFlags } from './causes/departure.js';
import { levelFlags } from './causes/level.js';
import { backgroundFlags, contrastFlags, lowerBodyFlags } from './causes/regions.js';
import { rounded } from './known.js';
import { planFlags } from './plan/plan-flags.js';
import type { FrameContext } from './setup-state.js';
import { worse } from './severity.js';

const CAUSES = [
  levelFlags,
  departureFlags,
  driftFlags,
  castFlags,
  backgroundFlags,
  contrastFlags,
  lowerBodyFlags,
  clippingFlags,
  planFlags,
  dataFlags,
];

/** All flags of one frame, each code once (the worse one stays), worst first in a fixed order. */
export function flagsOf(context: FrameContext): Flag[] {
  const byCode = new Map<FlagCode, Flag>();
  for (const flag of CAUSES.flatMap((cause) => cause(context))) {
    const other = byCode.get(flag.code);
    if (other === undefined) byCode.set(flag.code, flag);
    else if (worse(other.severity, flag.severity) !== other.severity) byCode.set(flag.code, flag);
  }
  const order = { fault: 0, check: 1, note: 2 } as const;
  return [...byCode.values()]
    .map((flag) => (flag.stops === undefined ? flag : { ...flag, stops: rounded(flag.stops) ?? 0 }))
    .map((flag, i) => ({ flag, i }))
    .sort((a, b) => order[a.flag.severity] - order[b.flag.severity] || a.i - b.i)
    .map(({ flag }) => flag);
}

/** The worst flag decides. */
export function verdictOf(flags: readonly Flag[]): Verdict {
  if (flags.some((flag) => flag.code === 'unreadable')) return 'unreadable';
  if (flags.some((flag) => flag.severity === 'fault')) return 'off';
  return flags.some((flag) => flag.severity === 'check') ? 'check' : 'consistent';
}
