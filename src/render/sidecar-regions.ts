import type { FrameMeasurement } from '../contracts/measurement.js';
import type { Box, Outline } from '../contracts/quantities.js';
import { NS, xmpReal, type XmpField, type XmpValue } from './sidecar-xml.js';

/** Our regions are known by this beginning of their id, so that a later run replaces them and no others. */
export const OWN_REGION_ID = 'stopledger-';

type Point = readonly [x: number, y: number];

/**
 * Where a point of the upright frame stands in the stored one. IPTC regions are about the pixels as stored: they are
 * what a program lays over the picture before it turns it by its Exif orientation, as it does with Exif SubjectArea.
 *
 * @param orientation Exif orientation 1..8 that stands the frame upright (JEITA CP-3451, tag 274)
 * @param point shares of the upright frame, origin top left
 * @returns shares of the stored frame
 */
export function storedPoint(orientation: number, [x, y]: Point): Point {
  switch (orientation) {
    case 2:
      return [1 - x, y];
    case 3:
      return [1 - x, 1 - y];
    case 4:
      return [x, 1 - y];
    case 5:
      return [y, x];
    case 6:
      return [y, 1 - x];
    case 7:
      return [1 - y, 1 - x];
    case 8:
      return [1 - y, x];
    default:
      return [x, y];
  }
}

const within = (share: number): number => Math.min(1, Math.max(0, share));
const iptc = (name: string, value: XmpValue): XmpField => ({ prefix: 'Iptc4xmpExt', name, value });
const structure = (...fields: XmpField[]): XmpValue => ({ kind: 'structure', fields });

function rectangle(box: Box, orientation: number): XmpValue {
  const [ax, ay] = storedPoint(orientation, [within(box.x), within(box.y)]);
  const [bx, by] = storedPoint(orientation, [within(box.x + box.width), within(box.y + box.height)]);
  return structure(
    iptc('rbShape', 'rectangle'),
    iptc('rbUnit', 'relative'),
    iptc('rbX', xmpReal(Math.min(ax, bx))),
    iptc('rbY', xmpReal(Math.min(ay, by))),
    iptc('rbW', xmpReal(Math.abs(bx - ax))),
    iptc('rbH', xmpReal(Math.abs(by - ay))),
  );
}

function polygon(outline: Outline, orientation: number): XmpValue {
  const items = outline.map(([x, y]) => {
    const [storedX, storedY] = storedPoint(orientation, [within(x), within(y)]);
    return structure(iptc('rbX', xmpReal(storedX)), iptc('rbY', xmpReal(storedY)));
  });
  return structure(iptc('rbShape', 'polygon'), iptc('rbUnit', 'relative'), iptc('rbVertices', { kind: 'seq', items }));
}

const entity = (name: string, identifier: string): XmpValue =>
  structure(iptc('Name', { kind: 'words', text: name }), {
    prefix: 'xmp',
    name: 'Identifier',
    value: { kind: 'bag', items: [identifier] },
  });

/** Terms of the IPTC NewsCodes "Image Region Type" and "Image Region Role" (as of 2019-12-06). */
const HUMAN = entity('human', 'http://cv.iptc.org/newscodes/imageregiontype/human');
const SUBJECT_AREA = entity('subject area', 'http://cv.iptc.org/newscodes/imageregionrole/subjectArea');

interface RegionFacts {
  id: string;
  name: string;
  part: 'face' | 'lower-body';
  levelStops: number | null;
  boundary: XmpValue;
}

function region({ id, name, part, levelStops, boundary }: RegionFacts): XmpValue {
  return structure(
    iptc('RegionBoundary', boundary),
    iptc('rId', `${OWN_REGION_ID}${id}`),
    iptc('Name', { kind: 'words', text: name }),
    // IPTC has no terms for parts of a human; ours stands beside its own.
    iptc('rCtype', { kind: 'bag', items: [HUMAN, entity(name.toLowerCase(), `${NS.stopledger}region/${part}`)] }),
    iptc('rRole', { kind: 'bag', items: [SUBJECT_AREA] }),
    ...(levelStops === null ? [] : [{ prefix: 'stopledger' as const, name: 'levelStops', value: xmpReal(levelStops) }]),
  );
}

/**
 * The frame's faces (rectangles) and lower bodies (polygons) as items of Iptc4xmpExt:ImageRegion, structure
 * "ImageRegion" of the IPTC Photo Metadata Standard 2019.1 and later: coordinates relative to the stored frame. Each
 * carries its level, in stops of light from mid-grey, in our namespace.
 */
export function imageRegions(measurement: FrameMeasurement): XmpValue[] {
  const { orientation } = measurement.source;
  return measurement.people.flatMap(({ face, lowerBody }, i) => {
    const regions: XmpValue[] = [];
    if (face !== null) {
      regions.push(
        region({
          id: `face-${i + 1}`,
          name: 'Face',
          part: 'face',
          levelStops: face.levelStops,
          boundary: rectangle(face.box, orientation),
        }),
      );
    }
    if (lowerBody !== null && lowerBody.outline.length >= 3) {
      regions.push(
        region({
          id: `lower-body-${i + 1}`,
          name: 'Lower body',
          part: 'lower-body',
          levelStops: lowerBody.levelStops,
          boundary: polygon(lowerBody.outline, orientation),
        }),
      );
    }
    return regions;
  });
}
