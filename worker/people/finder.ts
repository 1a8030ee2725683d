import { StopledgerError } from '../../src/errors.js';
import { CropSource, type SquareRegion } from './crop.js';
import { BODY, Detector, FACE_FULL_RANGE, FACE_SHORT_RANGE, boxCentre, overlap, type Detection } from './detector.js';
import { detectionGain } from './gain.js';
import { Landmarker, regionFromAlignment, type LandmarkedBody } from './landmarker.js';
import { loadNetwork } from './litert.js';
import { paintMask } from './mask.js';
import {
  distance,
  extent,
  faceSizePx,
  facesAway,
  headOf,
  meanDetection,
  pairFaces,
  sameBody,
  withoutDoubles,
} from './match.js';
import type { FoundPerson, PeopleFinder } from './port.js';
import { isSameView } from './same-view.js';

const MIN_FACE_SCORE = 0.5;
const MIN_BODY_SCORE = 0.5;
/** A box is asked for only where a face is already known to be. */
const MIN_BODY_SCORE_UNDER_FACE = 0.3;
/** Tiles see more false faces than the whole frame does. */
const MIN_TILE_FACE_SCORE = 0.7;
/** Under this share of the long edge the whole-frame face network misses faces: look again in tiles. */
const SMALL_FACE_SHARE = 0.07;
/** Side of the squares hung from a face, in face sizes, in which its body is looked for. */
const SQUARES_UNDER_FACE = [7, 4.5] as const;
/** A face belongs to a head whose middle is nearer than this, in face sizes. */
const FACE_REACH = 0.7;
/**
 * Each face is looked at again in squares of so many face sizes, shadows lifted, as it is and mirrored, and the looks
 * averaged: one look's middle line is drawn to the lit side of a face, or to one side by the network's habit.
 */
const NEAR_LOOKS = [
  { sides: 1.8, mirrored: false },
  { sides: 2.4, mirrored: false },
  { sides: 1.8, mirrored: true },
  { sides: 2.4, mirrored: true },
] as const;
const SAME_FACE_OVERLAP = 0.3;
/** A face with at least this score stands even on a body that seems turned away. */
const SURE_FACE_SCORE = 0.8;

interface Networks {
  faces: Detector;
  nearFaces: Detector;
  bodies: Detector;
  landmarker: Landmarker;
}

let networksOnce: Promise<Networks> | null = null;

async function loadNetworks(): Promise<Networks> {
  const faces = new Detector(
    await loadNetwork('@mediapipe/face_detection', 'face_detection_full_range.tflite'),
    FACE_FULL_RANGE,
  );
  const nearFaces = new Detector(
    await loadNetwork('@mediapipe/face_detection', 'face_detection_short_range.tflite'),
    FACE_SHORT_RANGE,
  );
  // The package's .data file is the body detector's network, byte for byte.
  const bodies = new Detector(await loadNetwork('@mediapipe/pose', 'pose_solution_packed_assets.data'), BODY);
  const landmarker = new Landmarker(await loadNetwork('@mediapipe/pose', 'pose_landmark_full.tflite'));
  return { faces, nearFaces, bodies, landmarker };
}

/**
 * Opens the people finder. The networks are loaded once a process (about 1.4 s, 340 MB) and shared.
 * Frames given to one process are looked at one after the other.
 * @throws StopledgerError `internal` when a model file or the runtime cannot be loaded
 */
export async function createPeopleFinder(): Promise<PeopleFinder> {
  networksOnce ??= loadNetworks();
  let networks: Networks;
  try {
    networks = await networksOnce;
  } catch (thrown) {
    networksOnce = null;
    throw thrown;
  }
  let previous: Promise<unknown> = Promise.resolve();
  return {
    find({ rgb8, widthPx, heightPx }) {
      if (rgb8.length !== widthPx * heightPx * 3) {
        return Promise.reject(
          new StopledgerError('internal', `rgb8 holds ${rgb8.length} codes; expected ${widthPx} x ${heightPx} x 3`),
        );
      }
      const source = new CropSource(rgb8, widthPx, heightPx, detectionGain(rgb8, widthPx));
      const found = previous.then(() => new FrameSearch(networks, source).run());
      previous = found.catch(() => undefined);
      return found;
    },
  };
}

/** One frame's search: faces and bodies on the whole frame, then each looked for beside the other. */
class FrameSearch {
  private readonly bodies: LandmarkedBody[] = [];

  constructor(
    private readonly networks: Networks,
    private readonly source: CropSource,
  ) {}

  async run(): Promise<FoundPerson[]> {
    const faces: Detection[] = [];
    for (const face of await this.findFaces()) faces.push(await this.fromNear(face));
    for (const box of await this.networks.bodies.detect(this.source, this.source.whole(), MIN_BODY_SCORE)) {
      const body = await this.landmark(box);
      if (body) this.keep(body);
    }
    const pairs = pairFaces(faces, this.bodies, FACE_REACH);
    const seen = faces.filter((face) => !isBackOfHead(face, pairs.get(face)));
    for (const face of seen) {
      if (pairs.has(face)) continue;
      const body = await this.bodyUnder(face);
      if (body) pairs.set(face, body);
    }
    const people: { face: Detection | null; body: LandmarkedBody | null }[] = seen.map((face) => ({
      face,
      body: pairs.get(face) ?? null,
    }));
    const withFace = new Set(seen.map((face) => pairs.get(face)));
    for (const body of this.bodies) {
      if (withFace.has(body)) continue;
      const near = await this.faceOf(body, seen);
      const face = near && !isBackOfHead(near, body) ? near : null;
      if (face) seen.push(face);
      people.push({ face, body });
    }
    return people.sort((a, b) => sizeOf(b) - sizeOf(a)).map((person) => this.toFoundPerson(person.face, person.body));
  }

  private async findFaces(): Promise<Detection[]> {
    const whole = this.source.whole();
    const faces = await this.networks.faces.detect(this.source, whole, MIN_FACE_SCORE);
    const smallPx = SMALL_FACE_SHARE * whole.sidePx;
    if (faces.length > 0 && faces.every((face) => faceSizePx(face) >= smallPx)) return faces;
    const inTiles: Detection[] = [];
    for (const tile of this.tiles())
      inTiles.push(...(await this.networks.faces.detect(this.source, tile, MIN_TILE_FACE_SCORE)));
    return withoutDoubles([...faces, ...inTiles]);
  }

  /** The same face with box and keypoints as the mean of near looks; unchanged when they do not see it. */
  private async fromNear(face: Detection): Promise<Detection> {
    const centre = boxCentre(face.boxPx);
    const sizePx = faceSizePx(face);
    const looks: Detection[] = [];
    for (const { sides, mirrored } of NEAR_LOOKS) {
      const square = { centre, sidePx: sides * sizePx, turn: 0 };
      const near = await this.networks.nearFaces.detect(this.source, square, MIN_FACE_SCORE, {
        liftShadows: true,
        mirrored,
      });
      const same = near.find((other) => overlap(other.boxPx, face.boxPx) > SAME_FACE_OVERLAP);
      if (same) looks.push(same);
    }
    return looks.length === 0
      ? face
      : { ...meanDetection(looks), score: Math.max(face.score, ...looks.map((look) => look.score)) };
  }

  /** Squares of 0.6 of the long edge that cover the frame and overlap. */
  private tiles(): SquareRegion[] {
    const { widthPx, heightPx } = this.source;
    const sidePx = 0.6 * Math.max(widthPx, heightPx);
    const centres = (length: number) => (length <= sidePx * 1.1 ? [length / 2] : [sidePx / 2, length - sidePx / 2]);
    return centres(heightPx).flatMap((y) => centres(widthPx).map((x) => ({ centre: { x, y }, sidePx, turn: 0 })));
  }

  /** Landmarks of a new body's box; where the first look says that another square fits it better, of a look there. */
  private async landmark(box: Detection): Promise<LandmarkedBody | null> {
    const first = await this.networks.landmarker.landmarks(
      this.source,
      regionFromAlignment(box.keypoints[0]!, box.keypoints[1]!),
    );
    // A body that is known already is not looked at again.
    if (first.score < MIN_BODY_SCORE || this.bodies.some((known) => sameBody(known, first))) return null;
    const better = regionFromAlignment(...first.alignment);
    if (isSameView(first.region, better)) return first;
    const second = await this.networks.landmarker.landmarks(this.source, better);
    // Among people side by side a look may go over to a neighbour.
    return second.score >= MIN_BODY_SCORE && sameBody(first, second) ? second : first;
  }

  private keep(body: LandmarkedBody): boolean {
    if (this.bodies.some((other) => sameBody(other, body))) return false;
    this.bodies.push(body);
    return true;
  }

  /** A face without a body: look in squares hung from the face. */
  private async bodyUnder(face: Detection): Promise<LandmarkedBody | null> {
    const centre = boxCentre(face.boxPx);
    const sizePx = faceSizePx(face);
    for (const sides of SQUARES_UNDER_FACE) {
      const square = {
        centre: { x: centre.x, y: centre.y + (sides / 2 - 1.1) * sizePx },
        sidePx: sides * sizePx,
        turn: 0,
      };
      const boxes = await this.networks.bodies.detect(this.source, square, MIN_BODY_SCORE_UNDER_FACE);
      const box = boxes.find((candidate) => distance(boxCentre(candidate.boxPx), centre) < 0.8 * sizePx);
      if (!box) continue;
      const body = await this.landmark(box);
      if (body && distance(headOf(body).centre, centre) < 0.8 * sizePx && this.keep(body)) return body;
    }
    return null;
  }

  /** A body without a face: look at its head from near. */
  private async faceOf(body: LandmarkedBody, known: readonly Detection[]): Promise<Detection | null> {
    const head = headOf(body);
    const sizePx = Math.max(head.sizePx, 0.06 * body.region.sidePx);
    const [face] = await this.networks.nearFaces.detect(
      this.source,
      { centre: head.centre, sidePx: 4 * sizePx, turn: 0 },
      MIN_FACE_SCORE,
    );
    if (!face || distance(boxCentre(face.boxPx), head.centre) >= sizePx) return null;
    return known.some((other) => overlap(other.boxPx, face.boxPx) > SAME_FACE_OVERLAP) ? null : this.fromNear(face);
  }

  private toFoundPerson(face: Detection | null, body: LandmarkedBody | null): FoundPerson {
    return {
      face: face && { boxPx: face.boxPx, score: face.score, keypoints: face.keypoints },
      body: body && {
        score: body.score,
        landmarks: body.landmarks,
        mask: paintMask(body, this.source),
      },
    };
  }
}

/** A doubtful face on a body seen from behind is hair. */
function isBackOfHead(face: Detection, body: LandmarkedBody | undefined): boolean {
  return body !== undefined && face.score < SURE_FACE_SCORE && facesAway(body);
}

function sizeOf(person: { face: Detection | null; body: LandmarkedBody | null }): number {
  if (person.body) return extent(person.body.landmarks);
  return person.face ? person.face.boxPx.width * person.face.boxPx.height : 0;
}
