import { StopledgerError } from '../../src/errors.js';
import { CoefficientsSent, type JpegScan } from './jpeg-coefficients.js';

const MARK = { start: 0xd8, end: 0xd9, scan: 0xda, huffman: 0xc4, firstAlone: 0xd0, lastAlone: 0xd7 } as const;
/** Frames coded by Huffman's tables: baseline, extended, progressive (ITU-T T.81, table B.1). */
const SEQUENTIAL = new Set([0xc0, 0xc1]);
const PROGRESSIVE = 0xc2;
/** Ten times what encoders write; each takes as long as the whole picture does. */
const MOST_SCANS = 100;

/**
 * Refuses a JPEG of which the decoder would make another picture without a word:
 * - a scan uses a Huffman table that was not defined before it (the typical ones of T.81 annex K are taken in its place);
 * - a scan is not there, so that a component, or detail of a progressive picture, stays at naught.
 *
 * Reads marker segments only (T.81, annex B.1 and B.2), and goes on behind stray bytes as the decoder does. What it does not
 * understand it leaves to the decoder.
 *
 * @throws StopledgerError `frame-corrupt`, `frame-truncated`
 */
export function refuseIncompleteScans(bytes: Buffer): void {
  const defined = new Set<string>();
  let frame: { isProgressive: boolean; sent: CoefficientsSent } | null = null;
  let scans = 0;
  for (const { mark, body } of segments(bytes)) {
    if (mark === MARK.huffman) for (const table of tablesIn(body)) defined.add(table);
    else if (SEQUENTIAL.has(mark) || mark === PROGRESSIVE)
      frame ??= { isProgressive: mark === PROGRESSIVE, sent: new CoefficientsSent(body) };
    else if (mark === MARK.scan && frame !== null) {
      scans += 1;
      if (scans > MOST_SCANS)
        throw new StopledgerError('frame-corrupt', `The JPEG has more than ${MOST_SCANS} scans, encoders write ten`);
      const scan = scanOf(body);
      if (scan === null) continue;
      const lacking = tablesOf(scan, frame.isProgressive).find((table) => !defined.has(table));
      if (lacking !== undefined) {
        const message = `The JPEG's image data needs Huffman table ${lacking}, which the file does not define before it`;
        throw new StopledgerError('frame-corrupt', message);
      }
      frame.sent.scan(scan, frame.isProgressive);
      // One scan of all components is all of most files: their data need not be looked through for more.
      if (!frame.isProgressive && frame.sent.missing() === null) return;
    }
  }
  const missing = frame?.sent.missing() ?? null;
  if (missing !== null && scans > 0)
    throw new StopledgerError('frame-truncated', `The jpeg file ends early: ${missing}`);
}

/** Marker segments up to the end of the picture, without those that have no length. */
function* segments(bytes: Buffer): Generator<{ mark: number; body: Buffer }> {
  for (let at = nextMark(bytes, 0); at >= 0;) {
    const mark = bytes[at + 1] ?? MARK.end;
    if (mark === MARK.end) return;
    let next = at + 2;
    if (mark !== MARK.start && (mark < MARK.firstAlone || mark > MARK.lastAlone)) {
      if (at + 4 > bytes.length) return;
      next += Math.max(2, bytes.readUInt16BE(at + 2));
      yield { mark, body: bytes.subarray(at + 4, next) };
    }
    at = nextMark(bytes, next);
  }
}

/** Where the next marker stands: FF and neither a stuffed 00 nor another FF; -1 when there is none. */
function nextMark(bytes: Buffer, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1];
    if (next === undefined) return -1;
    if (next !== 0 && next !== 0xff) return at;
  }
  return -1;
}

const nameOf = (isAc: boolean, table: number): string => `${isAc ? 'AC' : 'DC'} ${table}`;

/** Tables that a DHT segment defines (T.81, B.2.4.2): class and number, 16 counts, as many values. */
function tablesIn(body: Buffer): string[] {
  const tables: string[] = [];
  for (let at = 0; at + 17 <= body.length;) {
    const head = body[at] ?? 0;
    const values = body.subarray(at + 1, at + 17).reduce((sum, count) => sum + count, 0);
    tables.push(nameOf(head >> 4 === 1, head & 15));
    at += 17 + values;
  }
  return tables;
}

function scanOf(body: Buffer): JpegScan | null {
  const after = 1 + (body[0] ?? 0) * 2;
  const [from, to, bits] = [body[after], body[after + 1], body[after + 2]];
  if (from === undefined || to === undefined || bits === undefined) return null;
  const components: JpegScan['components'] = [];
  for (let at = 1; at < after; at += 2) {
    const tables = body[at + 1] ?? 0;
    components.push({ id: body[at] ?? 0, dcTable: tables >> 4, acTable: tables & 15 });
  }
  return { components, from, to, highBit: bits >> 4, lowBit: bits & 15 };
}

/** Tables that a scan reads codes of (T.81, G.1.2): a progressive refinement of DC is plain bits. */
function tablesOf({ components, from, highBit }: JpegScan, isProgressive: boolean): string[] {
  const readsDc = !isProgressive || (from === 0 && highBit === 0);
  const readsAc = !isProgressive || from > 0;
  return components.flatMap(({ dcTable, acTable }) => [
    ...(readsDc ? [nameOf(false, dcTable)] : []),
    ...(readsAc ? [nameOf(true, acTable)] : []),
  ]);
}
