/** Finding people: what the models are asked and what they answer. Pixels of the working image, origin top left. */

export interface Point {
  x: number;
  y: number;
}

export interface BoxPx {
  x: number;
  y: number;
  width: number;
  height: number;
}

export interface FoundFace {
  boxPx: BoxPx;
  score: number;
  /** Right eye, left eye (the sitter's), nose tip, mouth, right ear, left ear. */
  keypoints: Point[];
}

export interface Landmark extends Point {
  /** 0..1: not hidden behind something. */
  visibility: number;
  /** 0..1: inside the picture. */
  presence: number;
}

/** Where a person is, as logits: 0 where a pixel is as likely the person's as not, rising with likelihood. */
export interface PersonMask {
  /** Column and row of the image at which the mask's first pixel stands. */
  x: number;
  y: number;
  widthPx: number;
  heightPx: number;
  /** height x width of this rectangle, which lies in the image. Outside it a pixel is less likely the person's than one in twenty. */
  logits: Float32Array;
}

export interface FoundBody {
  score: number;
  /** 33 landmarks in the usual body-landmark order (0 nose ... 23/24 hips, 25/26 knees, 27/28 ankles, 29/30 heels, 31/32 toes). */
  landmarks: Landmark[];
  mask: PersonMask;
}

/** A person: a face, a body, or both. */
export interface FoundPerson {
  face: FoundFace | null;
  body: FoundBody | null;
}

export interface PeopleFinder {
  /** `rgb8`: height x width x 3 sRGB codes. */
  find(image: { rgb8: Uint8Array; widthPx: number; heightPx: number }): Promise<FoundPerson[]>;
}
