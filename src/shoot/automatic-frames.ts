/** Frames on each side, and least number of different ISO values among them, that show an automatic ISO. Ours. */
const ISO_LOOK = { around: 4, values: 4, changes: 5 } as const;
const SAME_STOPS = 0.1;

/**
 * Whether the camera chose each frame's exposure: its file says so, or the ISO alone runs over many values around it,
 * as an automatic ISO does under manual exposure.
 */
export function automaticFrames(
  frames: readonly { autoExposure: boolean; av: number | null; tv: number | null; sv: number | null }[],
): boolean[] {
  return frames.map((frame, i) => {
    if (frame.autoExposure) return true;
    const previous = frames[i - 1];
    const next = frames[i + 1];
    // Most frames stand among others of the same ISO, and need no closer look.
    if ((previous === undefined || previous.sv === frame.sv) && (next === undefined || next.sv === frame.sv))
      return false;
    const around = frames.slice(Math.max(0, i - ISO_LOOK.around), i + ISO_LOOK.around + 1);
    if (around.some(({ av, tv }) => !near(av, frame.av) || !near(tv, frame.tv))) return false;
    const changes = around.filter((other, k) => k > 0 && !near(other.sv, around[k - 1]?.sv ?? null)).length;
    return changes >= ISO_LOOK.changes && new Set(around.map(({ sv }) => sv)).size >= ISO_LOOK.values;
  });
}

const near = (a: number | null, b: number | null): boolean =>
  a === null || b === null ? a === b : Math.abs(a - b) <= SAME_STOPS;
