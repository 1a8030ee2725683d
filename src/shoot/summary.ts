import type { FlagCode, ReportFrame, Setup, ShootSummary } from '../contracts/report.js';
import { mapsTonesLocally } from '../photometry/tone-response.js';
import { cautionsFor, isMixed, mixedLightCaution } from './cautions.js';
import { findingsOf } from './findings.js';
import type { LightKindDecision } from './light-kind.js';

/** What the shoot as a whole told before its frames were judged. */
interface Told extends Pick<ShootSummary, 'clocks' | 'otherRenderings'> {
  lightKind: LightKindDecision;
}

export function summarise(
  frames: readonly ReportFrame[],
  setups: readonly Setup[],
  { lightKind: light, clocks, otherRenderings }: Told,
  versionCautions: readonly string[],
): Omit<ShootSummary, 'notes'> {
  const count = (verdict: ReportFrame['verdict']): number => frames.filter((frame) => frame.verdict === verdict).length;
  const flagCounts: Partial<Record<FlagCode, number>> = {};
  const telling = new Set<FlagCode>();
  for (const frame of frames)
    for (const flag of frame.flags) {
      flagCounts[flag.code] = (flagCounts[flag.code] ?? 0) + 1;
      if (flag.severity !== 'note') telling.add(flag.code);
    }
  const consistent = count('consistent');
  return {
    frames: frames.length,
    consistent,
    check: count('check'),
    off: count('off'),
    unreadable: count('unreadable'),
    consistentShare: frames.length === 0 ? 0 : consistent / frames.length,
    flagCounts,
    findings: findingsOf(frames, setups, clocks),
    light: {
      kind: light.kind,
      shutterWeight: light.shutterWeight,
      ambientShare: isMixed(light) ? light.shutterWeight : null,
      because: light.because,
    },
    toneResponse: toneResponseText(frames),
    cautions: [...versionCautions, ...mixedLightCaution(light), ...cautionsFor(telling, light)],
    clocks,
    otherRenderings,
  };
}

const SOURCE_TEXT = {
  scene: 'raw, proportional to light',
  calibrated: "fitted to a bracket of this camera's",
  learned: 'learned in this shoot',
  assumed: 'an assumed camera curve',
  none: 'plain files without a camera curve',
} as const;

const LOCALLY =
  'on files of phones and other cameras that brighten and darken parts of a picture by themselves, for which no one curve exists';

function toneResponseText(frames: readonly ReportFrame[]): string {
  const bySource = new Map<string, { count: number; worst: number }>();
  for (const { toneResponse } of frames) {
    if (toneResponse === null) continue;
    const local = mapsTonesLocally(toneResponse);
    const text = local ? `${SOURCE_TEXT[toneResponse.source]} ${LOCALLY}` : SOURCE_TEXT[toneResponse.source];
    const entry = bySource.get(text) ?? { count: 0, worst: 0 };
    entry.count++;
    entry.worst = Math.max(entry.worst, toneResponse.uncertaintyStops);
    bySource.set(text, entry);
  }
  if (bySource.size === 0) return 'No frame was measured.';
  const told = [...bySource]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(
      ([text, { count, worst }]) =>
        `${text} (${count} frame${count === 1 ? '' : 's'}, uncertain by ${worst.toFixed(2)} stop in each stop of difference)`,
    );
  return `Levels went through ${told.join('; ')}; the uncertainty widens what is called a fault.`;
}
