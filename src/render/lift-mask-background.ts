import { REGION_CODES } from '../contracts/jobs.js';
import { boxMean, type Field } from './lift-mask-filters.js';

/** A frame's region codes with the preview that they belong to, the same size. */
export interface CodedPicture {
  widthPx: number;
  heightPx: number;
  codes: Uint8Array;
  /** The preview's sRGB codes by channel, 0..1. */
  guide: readonly Field[];
}

/**
 * How background grows into a person, lengths as shares of the long edge, colours as distances of sRGB codes 0..1.
 * Ours; chosen on rendered figures whose true outline is known.
 */
const GROWTH = {
  /** Farthest from the person's coded outline, along the way that it grew: a gap between legs may be as deep. */
  depthShare: 0.05,
  /** What stands for the background here: its mean in a window of this radius. */
  windowShare: 0.012,
  /** Farther from the background's colour than this, and than so many of its deviations, is not background. */
  likeLeast: 0.02,
  likeDeviations: 3.5,
  /** A deviation can be no larger than this, lest a busy wall be like everything. */
  likeMost: 0.08,
  /** How fast the colour that is carried along follows what it finds: a wall's gradient, not an edge. */
  follow: 0.06,
  /** Growth has to end at colours at least so many times as far away as what is still alike, so far inside. */
  edgeTimes: 2,
  edgeInsidePx: 3,
  /** It is held to that within this radius: at least this share of its ends. */
  supportShare: 0.012,
  leastEnds: 0.4,
  /** A person who is mostly of the wall's colour within this radius cannot be told from it. */
  aroundShare: 0.03,
  mostOfPerson: 0.42,
} as const;

const isMain = (code: number): boolean => code > REGION_CODES.background && code < REGION_CODES.otherPerson;
/** Faces have no gaps, and shoes are too often of the floor's colour, and of several. */
const mayLose = (code: number): boolean => isMain(code) && code !== REGION_CODES.faceSkin && code !== REGION_CODES.foot;

/**
 * The region codes without the background that they take for a part of the main person: a strip between the legs, a rim
 * along an outline that was drawn too wide. Background grows inward from the coded outline while the preview keeps its
 * colour; what it won is kept only where it ended at an edge, so that a dark leg before a dark wall stays whole.
 *
 * @returns codes of the same size, some of the main person's turned to `background`
 */
export function withoutBackgroundInside(picture: CodedPicture): Uint8Array {
  const { widthPx, heightPx, codes } = picture;
  const long = Math.max(widthPx, heightPx);
  const won = grown(picture, Math.max(3, Math.round(GROWTH.depthShare * long)));
  const supported = windowShares(picture, endsOf(picture, won), GROWTH.supportShare * long);
  const field = (values: Float32Array): Field => ({ widthPx, heightPx, values });
  const radiusPx = GROWTH.aroundShare * long;
  const wonAround = boxMean(field(Float32Array.from(won.like, (like) => (like > 0 ? 1 : 0))), radiusPx);
  const personAround = boxMean(field(Float32Array.from(codes, (code) => (isMain(code) ? 1 : 0))), radiusPx);
  const kept = won.like.map((like, i) =>
    like > 0 &&
    (supported[i] ?? 0) >= GROWTH.leastEnds &&
    (wonAround[i] ?? 0) <= GROWTH.mostOfPerson * (personAround[i] ?? 0)
      ? 1
      : 0,
  );
  // Single pixels of noise inside what was won are won as well.
  const mostly = boxMean(field(kept), 1);
  return codes.map((code, i) =>
    kept[i] === 1 || ((mostly[i] ?? 0) > 0.5 && mayLose(code)) ? REGION_CODES.background : code,
  );
}

/** Where background grew to. */
interface Growth {
  /** Distance of colours still alike at a pixel that was won; 0 elsewhere. */
  like: Float32Array;
  /** Background's colour carried there, three values a pixel. */
  colour: Float32Array;
}

function grown(picture: CodedPicture, depthPx: number): Growth {
  const { widthPx, heightPx, codes, guide } = picture;
  const { mean, like: nearby } = localBackground(picture);
  const like = new Float32Array(codes.length);
  const colour = new Float32Array(codes.length * 3);
  let front: number[] = [];
  for (let i = 0; i < codes.length; i += 1) {
    if (codes[i] !== REGION_CODES.background || !neighbours(i, widthPx, heightPx).some((j) => isMain(codes[j] ?? 0)))
      continue;
    for (let c = 0; c < 3; c += 1) colour[i * 3 + c] = mean[c]?.[i] ?? 0;
    front.push(i);
  }
  for (let step = 0; step < depthPx && front.length > 0; step += 1) {
    const next: number[] = [];
    for (const from of front) {
      const limit = like[from] || (nearby[from] ?? 0);
      for (const to of neighbours(from, widthPx, heightPx)) {
        if (!mayLose(codes[to] ?? 0) || (like[to] ?? 0) > 0 || apart(guide, to, colour, from) > limit) continue;
        like[to] = limit;
        for (let c = 0; c < 3; c += 1) {
          const carried = colour[from * 3 + c] ?? 0;
          colour[to * 3 + c] = carried + GROWTH.follow * ((guide[c]?.values[to] ?? 0) - carried);
        }
        next.push(to);
      }
    }
    front = next;
  }
  return { like, colour };
}

/** Mean colour of the background around each pixel, and how far from it is still alike. */
function localBackground({ widthPx, heightPx, codes, guide }: CodedPicture): {
  mean: Float32Array[];
  like: Float32Array;
} {
  const size = { widthPx, heightPx };
  const radiusPx = Math.max(3, GROWTH.windowShare * Math.max(widthPx, heightPx));
  const person = boxMean({ ...size, values: Float32Array.from(codes, (code) => (code === 0 ? 0 : 1)) }, 2);
  // The coded outline may lie inside the person as well: what is next to it counts only where there is nothing else.
  const weight = Float32Array.from(codes, (code, i) => (code === 0 ? ((person[i] ?? 0) > 0 ? 0.02 : 1) : 0));
  const total = boxMean({ ...size, values: weight }, radiusPx);
  const weighted = (values: Float32Array): Float32Array =>
    boxMean({ ...size, values: values.map((v, i) => v * (weight[i] ?? 0)) }, radiusPx).map(
      (v, i) => v / Math.max(1e-6, total[i] ?? 0),
    );
  const mean = guide.map(({ values }) => weighted(values));
  const squares = guide.map(({ values }) => weighted(values.map((v) => v * v)));
  const like = Float32Array.from(codes, (_, i) => {
    const variance = squares.reduce((sum, square, c) => sum + (square[i] ?? 0) - (mean[c]?.[i] ?? 0) ** 2, 0);
    const deviations = GROWTH.likeDeviations * Math.sqrt(Math.max(0, variance) / 3);
    return Math.min(GROWTH.likeMost, Math.max(GROWTH.likeLeast, deviations));
  });
  return { mean, like };
}

const apart = (guide: readonly Field[], at: number, colour: Float32Array, from: number): number =>
  Math.hypot(...([0, 1, 2] as const).map((c) => (guide[c]?.values[at] ?? 0) - (colour[from * 3 + c] ?? 0)));

/** The four pixels beside one, fewer at the picture's edges. */
function neighbours(i: number, widthPx: number, heightPx: number): number[] {
  const x = i % widthPx;
  const beside: number[] = [];
  if (x > 0) beside.push(i - 1);
  if (x < widthPx - 1) beside.push(i + 1);
  if (i >= widthPx) beside.push(i - widthPx);
  if (i < widthPx * (heightPx - 1)) beside.push(i + widthPx);
  return beside;
}

interface Ends {
  all: Float32Array;
  atEdges: Float32Array;
}

/** Where growth ended inside the person, and at which of these ends another colour begins. */
function endsOf({ widthPx, heightPx, codes, guide }: CodedPicture, { like, colour }: Growth): Ends {
  const all = new Float32Array(codes.length);
  const atEdges = new Float32Array(codes.length);
  for (let i = 0; i < codes.length; i += 1) {
    if ((like[i] ?? 0) === 0) continue;
    for (const beside of neighbours(i, widthPx, heightPx)) {
      if (!isMain(codes[beside] ?? 0) || (like[beside] ?? 0) > 0) continue;
      all[i] = 1;
      const inside = i + (beside - i) * GROWTH.edgeInsidePx;
      const sameLine = Math.abs(beside - i) > 1 || Math.floor(inside / widthPx) === Math.floor(i / widthPx);
      const there = sameLine && inside >= 0 && inside < codes.length ? inside : beside;
      if (apart(guide, there, colour, i) >= GROWTH.edgeTimes * (like[i] ?? 0)) atEdges[i] = 1;
    }
  }
  return { all, atEdges };
}

/** Share of the ends around each pixel that are edges; 0 where there are none. */
function windowShares({ widthPx, heightPx }: CodedPicture, { all, atEdges }: Ends, radiusPx: number): Float32Array {
  const ends = boxMean({ widthPx, heightPx, values: all }, radiusPx);
  return boxMean({ widthPx, heightPx, values: atEdges }, radiusPx).map((edges, i) =>
    (ends[i] ?? 0) <= 1e-6 ? 0 : edges / (ends[i] ?? 1),
  );
}
