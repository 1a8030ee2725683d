import type { LegPart } from '../../src/contracts/people.js';
import type { FoundBody, Landmark, Point } from '../people/port.js';
import { cellsKernel } from '../cells-kernel.js';
import type { Pixels } from './region-pixels.js';
import { segmentOf } from './region-segments.js';
import type { WorkingImage } from './working-image.js';

/** Landmark numbers of the usual 33-point body order. */
const AT = {
  shoulders: [11, 12],
  elbows: [13, 14],
  wrists: [15, 16],
  littleFingers: [17, 18],
  forefingers: [19, 20],
  hips: [23, 24],
  knees: [25, 26],
  ankles: [27, 28],
  heels: [29, 30],
  toes: [31, 32],
} as const;

/** A joint counts when it is inside the frame and more visible than this: joints outside still score 0.6 to 0.85. */
export const MIN_VISIBILITY = 0.5;

/** Lower body pixels lie nearer to a leg's bone than this, in thigh lengths: wide enough for a skirt. */
const LEG_REACH = 0.6;
/** Half the thickness of arm and hand, in shoulder widths; what lies inside is not leg or trunk. */
const ARM_RADIUS = 0.17;
const HAND_RADIUS = 0.2;
/** A shin whose ankle is outside the frame counts when at least this share of a thigh length of it shows. */
const CUT_SHIN_SHARE = 0.3;

interface Bone {
  part: LegPart;
  from: Point;
  to: Point;
  /** Height along the leg at `from` and `to`: hip 0, knee 1, ankle 2. */
  start: number;
  end: number;
}

/** Parts by the codes that `LegPixels` holds. */
export const LEG_PARTS: readonly LegPart[] = [
  'thigh-left',
  'thigh-right',
  'shin-left',
  'shin-right',
  'foot-left',
  'foot-right',
];

/** The person's pixels below the hips, each with its part and height along the leg. */
export interface LegPixels {
  /** Hips to ankles. */
  pixels: Pixels;
  /** Index into `LEG_PARTS`, in the order of `pixels`. */
  part: Uint8Array;
  /** Hip 0, knee 1, ankle 2, in the order of `pixels`. */
  along: Float32Array;
  /** Pixels from the leg's bone, in the order of `pixels`. */
  aside: Float32Array;
  /** Beyond the ankles. */
  feet: { pixels: Pixels; part: Uint8Array };
  partsSeen: LegPart[];
  /** Mean visibility of the joints used. */
  visibility: number;
  legLengthPx: number;
}

function inFrame(joint: Landmark, image: WorkingImage): boolean {
  return joint.x >= 0 && joint.y >= 0 && joint.x < image.widthPx && joint.y < image.heightPx;
}

function counts(joint: Landmark, image: WorkingImage): boolean {
  return inFrame(joint, image) && joint.visibility > MIN_VISIBILITY;
}

function middle(a: Point, b: Point): Point {
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
}

function lengthOf(a: Point, b: Point): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** Arms and hands as capsules, so that a hand on a thigh is not leg skin: six doubles each, as the kernel takes them. */
function armCapsules(body: FoundBody): Float64Array {
  const at = (i: number) => body.landmarks[i]!;
  const shoulderWidth = Math.max(
    lengthOf(at(11), at(12)),
    0.4 * lengthOf(middle(at(11), at(12)), middle(at(23), at(24))),
  );
  const arm2 = (ARM_RADIUS * shoulderWidth) ** 2;
  const hand2 = (HAND_RADIUS * shoulderWidth) ** 2;
  const capsules: number[] = [];
  for (const side of [0, 1]) {
    const elbow = at(AT.elbows[side]!);
    const wrist = at(AT.wrists[side]!);
    const fingers = middle(at(AT.littleFingers[side]!), at(AT.forefingers[side]!));
    if (wrist.visibility <= MIN_VISIBILITY) continue;
    const tip = { x: wrist.x + 1.8 * (fingers.x - wrist.x), y: wrist.y + 1.8 * (fingers.y - wrist.y) };
    capsules.push(...segmentOf(elbow, wrist), arm2, ...segmentOf(wrist, tip), hand2);
  }
  return Float64Array.from(capsules);
}

/** Left, top, right and bottom of what capsules can reach, a pixel more for rounding. */
function boxOf(capsules: Float64Array): [number, number, number, number] {
  const box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < capsules.length; k += 6) {
    const [x = 0, y = 0, dx = 0, dy = 0, , radius2 = 0] = capsules.subarray(k, k + 6);
    const reach = Math.sqrt(radius2) + 1;
    box[0] = Math.min(box[0], x - reach, x + dx - reach);
    box[1] = Math.min(box[1], y - reach, y + dy - reach);
    box[2] = Math.max(box[2], x + reach, x + dx + reach);
    box[3] = Math.max(box[3], y + reach, y + dy + reach);
  }
  return box;
}

function bonesOf(body: FoundBody, image: WorkingImage): { bones: Bone[]; joints: Landmark[] } {
  const bones: Bone[] = [];
  const joints: Landmark[] = [];
  // Landmarks of the sitter's left are even offsets 0, of the right 1.
  (['left', 'right'] as const).forEach((side, s) => {
    const hip = body.landmarks[AT.hips[s]!]!;
    const knee = body.landmarks[AT.knees[s]!]!;
    const ankle = body.landmarks[AT.ankles[s]!]!;
    const toes = body.landmarks[AT.toes[s]!]!;
    const heel = body.landmarks[AT.heels[s]!]!;
    if (!counts(hip, image) || !counts(knee, image)) return;
    joints.push(hip, knee);
    bones.push({ part: `thigh-${side}`, from: hip, to: knee, start: 0, end: 1 });
    const thigh = lengthOf(hip, knee);
    const cut = !inFrame(ankle, image) && knee.y + CUT_SHIN_SHARE * thigh < image.heightPx && ankle.y >= image.heightPx;
    if (!counts(ankle, image) && !cut) return;
    bones.push({ part: `shin-${side}`, from: knee, to: ankle, start: 1, end: 2 });
    if (cut) return;
    joints.push(ankle);
    const tip = lengthOf(ankle, toes) > lengthOf(ankle, heel) ? toes : heel;
    bones.push({ part: `foot-${side}`, from: ankle, to: tip, start: 2, end: 2.3 });
  });
  return { bones, joints };
}

/**
 * The lower body inside the person's mask: hips to ankles, apart by leg and by thigh, shin and foot. Arms and
 * hands are left out. Null when no thigh (hip and knee) is in the frame.
 * @param person all of the person's pixels, ascending
 */
export function legPixelsOf(image: WorkingImage, body: FoundBody, person: Pixels): LegPixels | null {
  const { bones, joints } = bonesOf(body, image);
  if (bones.length === 0) return null;
  const { widthPx } = image;
  const hips = middle(body.landmarks[23]!, body.landmarks[24]!);
  const shoulders = middle(body.landmarks[11]!, body.landmarks[12]!);
  const trunk = Math.max(1, lengthOf(hips, shoulders));
  const trunkDown = { x: (hips.x - shoulders.x) / trunk, y: (hips.y - shoulders.y) / trunk };
  const thighPx = Math.max(
    ...bones.filter((b) => b.part.startsWith('thigh')).map((b) => lengthOf(b.from, b.to)),
    0.5 * trunk,
  );
  const reach2 = (LEG_REACH * thighPx) ** 2;
  const lines = Float64Array.from(
    bones.flatMap(({ from, to, start, end }) => [...segmentOf(from, to), start, end - start]),
  );
  const capsules = armCapsules(body);
  // Above the hips along the trunk is trunk.
  const line = [hips.x, hips.y, trunkDown.x, trunkDown.y, ...boxOf(capsules)];
  const count = person.length;
  const { kernel, at, buffer } = cellsKernel({
    line: 8 * line.length,
    bones: lines.byteLength,
    codes: bones.length,
    capsules: capsules.byteLength,
    pixels: 4 * count,
    legs: 4 * count,
    legParts: count,
    along: 4 * count,
    aside: 4 * count,
    feet: 4 * count,
    footParts: count,
    feetCount: 4,
  });
  new Float64Array(buffer, at.line).set(line);
  new Float64Array(buffer, at.bones).set(lines);
  new Uint8Array(buffer, at.codes).set(bones.map((bone) => LEG_PARTS.indexOf(bone.part)));
  new Float64Array(buffer, at.capsules).set(capsules);
  new Int32Array(buffer, at.pixels).set(person);
  const legs = kernel.partLegs(at.pixels, count, widthPx, at.line, reach2, at.bones, bones.length, at.codes, LEG_PARTS.indexOf('foot-left'), at.capsules, capsules.length / 6, at.legs, at.legParts, at.along, at.aside, at.feet, at.footParts, at.feetCount); // prettier-ignore
  const feet = new Int32Array(buffer, at.feetCount, 1)[0]!;
  const part = new Uint8Array(buffer, at.legParts, legs).slice();
  const footPart = new Uint8Array(buffer, at.footParts, feet).slice();
  return {
    pixels: new Int32Array(buffer, at.legs, legs).slice(),
    part,
    along: new Float32Array(buffer, at.along, legs).slice(),
    aside: new Float32Array(buffer, at.aside, legs).slice(),
    feet: { pixels: new Int32Array(buffer, at.feet, feet).slice(), part: footPart },
    partsSeen: LEG_PARTS.filter((_, code) => part.includes(code) || footPart.includes(code)),
    visibility: joints.reduce((sum, j) => sum + j.visibility, 0) / joints.length,
    legLengthPx: 2 * thighPx,
  };
}

/**
 * Shoulders to hips inside the person's mask, without arms. Empty when a shoulder is not in the frame.
 * @param person all of the person's pixels, ascending
 */
export function torsoPixelsOf(image: WorkingImage, body: FoundBody, person: Pixels): Pixels {
  const [leftShoulder, rightShoulder, leftHip, rightHip] = [...AT.shoulders, ...AT.hips].map(
    (i) => body.landmarks[i]!,
  ) as [Landmark, Landmark, Landmark, Landmark];
  if (!counts(leftShoulder, image) || !counts(rightShoulder, image)) return new Int32Array(0);
  // Hips below the frame cut the torso short; their direction still serves.
  const shoulders = middle(leftShoulder, rightShoulder);
  const hips = middle(leftHip, rightHip);
  const trunk = lengthOf(shoulders, hips);
  if (trunk < 4) return new Int32Array(0);
  const down = { x: (hips.x - shoulders.x) / trunk, y: (hips.y - shoulders.y) / trunk };
  const across = { x: down.y, y: -down.x };
  const acrossOf = (q: Point) => (q.x - shoulders.x) * across.x + (q.y - shoulders.y) * across.y;
  const halfTop = Math.max(Math.abs(acrossOf(leftShoulder) - acrossOf(rightShoulder)) / 2, 0.2 * trunk);
  const halfBottom = Math.max(Math.abs(acrossOf(leftHip) - acrossOf(rightHip)) / 2, 0.2 * trunk) * 1.35;
  const shape = [shoulders.x, shoulders.y, down.x, down.y, trunk, halfTop, halfBottom];
  const capsules = armCapsules(body);
  const { kernel, at, buffer } = cellsKernel({
    shape: 8 * shape.length,
    capsules: capsules.byteLength,
    pixels: person.byteLength,
    inside: person.byteLength,
  });
  new Float64Array(buffer, at.shape).set(shape);
  new Float64Array(buffer, at.capsules).set(capsules);
  new Int32Array(buffer, at.pixels).set(person);
  const inside = kernel.inTrapezium(at.pixels, person.length, image.widthPx, at.shape, at.capsules, capsules.length / 6, at.inside); // prettier-ignore
  return new Int32Array(buffer, at.inside, inside).slice();
}
