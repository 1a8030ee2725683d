import type { CorrectedFrame, ShootReport } from '../contracts/report.js';
import { correctedFrames } from './corrected-frames.js';

type Cell = string | number | boolean | null;

interface Column {
  name: string;
  /** What stands in it and in which unit. */
  about: string;
  value: (frame: CorrectedFrame) => Cell;
}

const liftStops = (frame: CorrectedFrame, region: string): number | null =>
  frame.lifts.find((lift) => lift.region === region)?.stops ?? null;

/** The columns of frames.csv in their order. Names carry the unit as in report.json; person columns are the main person's. */
export const FRAME_COLUMNS: readonly Column[] = [
  { name: 'name', about: 'frame name', value: (f) => f.name },
  { name: 'setup', about: 'id of its set-up', value: (f) => f.setup },
  { name: 'capturedAt', about: 'ISO 8601, as the camera wrote it', value: (f) => f.capturedAt },
  { name: 'verdict', about: 'consistent, check, off or unreadable', value: (f) => f.verdict },
  {
    name: 'flags',
    about: 'flag codes with severity, separated by "; "',
    value: (f) => f.flags.map((g) => `${g.code} (${g.severity})`).join('; '),
  },
  { name: 'because', about: 'the sentences of the flags', value: (f) => f.flags.map((g) => g.because).join(' ') },
  {
    name: 'fromSetupStops',
    about: 'subject level minus its set-up baseline; positive: brighter',
    value: (f) => f.deviation.fromSetupStops,
  },
  {
    name: 'ofWhichSettingsStops',
    about: 'part that the camera settings explain',
    value: (f) => f.deviation.ofWhichSettingsStops,
  },
  { name: 'ofWhichLightStops', about: 'part that is the light', value: (f) => f.deviation.ofWhichLightStops },
  { name: 'fromPlanStops', about: 'settings against the plan', value: (f) => f.deviation.fromPlanStops },
  {
    name: 'fromReferenceStops',
    about: 'subject level minus the reference frame',
    value: (f) => f.deviation.fromReferenceStops,
  },
  {
    name: 'toBaselineStops',
    about: 'stops to add so that the frame matches; positive brightens',
    value: (f) => f.toBaselineStops,
  },
  { name: 'people', about: 'number of people found', value: (f) => f.people.length },
  { name: 'faceLevelStops', about: 'stops re mid-grey', value: (f) => f.people[0]?.faceLevelStops ?? null },
  {
    name: 'lowerBodyLevelStops',
    about: 'stops re mid-grey, cloth included',
    value: (f) => f.people[0]?.lowerBodyLevelStops ?? null,
  },
  {
    name: 'faceToLowerBodyStops',
    about: 'brightness, cloth included; positive: lower body darker',
    value: (f) => f.people[0]?.faceToLowerBodyStops ?? null,
  },
  {
    name: 'faceToLowerBodyLightStops',
    about: 'light, skin against skin; positive: less light below',
    value: (f) => f.people[0]?.faceToLowerBodyLightStops ?? null,
  },
  {
    name: 'faceToLowerBodyLightUncertaintyStops',
    about: 'standard uncertainty of the light difference',
    value: (f) => f.people[0]?.faceToLowerBodyLightUncertaintyStops ?? null,
  },
  {
    name: 'lowerBodyBasis',
    about: 'skin, mixed or clothing: what the lower body showed',
    value: (f) => f.people[0]?.basis ?? null,
  },
  {
    name: 'sideToSideStops',
    about: 'bright side of the face minus dark side',
    value: (f) => f.people[0]?.sideToSideStops ?? null,
  },
  { name: 'personConfidence', about: '0..1', value: (f) => f.people[0]?.confidence ?? null },
  {
    name: 'frameLiftStops',
    about: 'stops to add to the whole frame, as far as noise and clipping let it',
    value: (f) => f.corrections.find(({ step }) => step === 'level')?.stops ?? null,
  },
  { name: 'faceLiftStops', about: 'stops to add to the face', value: (f) => liftStops(f, 'face') },
  { name: 'lowerBodyLiftStops', about: 'stops to add to the lower body', value: (f) => liftStops(f, 'lower-body') },
  { name: 'backgroundLiftStops', about: 'stops to add to the background', value: (f) => liftStops(f, 'background') },
  {
    name: 'liftsLimitedBy',
    about: 'region: what stopped the lift',
    value: (f) =>
      f.lifts
        .filter((l) => l.limitedBy !== null)
        .map((l) => `${l.region}: ${l.limitedBy}`)
        .join('; '),
  },
  {
    name: 'castCorrectionMired',
    about: 'mired to add to the picture; positive warms',
    value: (f) => f.corrections.find(({ step }) => step === 'cast')?.mired ?? null,
  },
  {
    name: 'castCorrectionDuv',
    about: 'Duv to add to the picture; positive greens',
    value: (f) => f.corrections.find(({ step }) => step === 'cast')?.duv ?? null,
  },
  {
    name: 'corrections',
    about: 'what to do, in the order in which to do it',
    value: (f) => f.corrections.map(({ because }) => because).join(' '),
  },
  {
    name: 'highlightsClippedShare',
    about: '0..1 of the frame, any channel',
    value: (f) => f.clipping?.highlightsShare ?? null,
  },
  {
    name: 'largestHighlightAreaShare',
    about: '0..1 of the frame, largest connected clipped area',
    value: (f) => f.clipping?.largestHighlightAreaShare ?? null,
  },
  { name: 'facesClippedShare', about: '0..1 of face pixels', value: (f) => f.clipping?.facesShare ?? null },
  { name: 'blacksClippedShare', about: '0..1 of the frame', value: (f) => f.clipping?.blacksShare ?? null },
  { name: 'fNumber', about: 'as written in the file', value: (f) => f.exposure?.fNumber ?? null },
  {
    name: 'exposureTimeSeconds',
    about: 'as written in the file',
    value: (f) => f.exposure?.exposureTimeSeconds ?? null,
  },
  { name: 'iso', about: 'as written in the file', value: (f) => f.exposure?.iso ?? null },
  { name: 'ev100', about: 'absolute camera exposure, APEX, ISO 100', value: (f) => f.exposure?.ev100 ?? null },
  { name: 'flashFired', about: 'true, false or empty', value: (f) => f.exposure?.flashFired ?? null },
  {
    name: 'toneResponseSource',
    about: 'scene, calibrated, learned, assumed or none',
    value: (f) => f.toneResponse?.source ?? null,
  },
  {
    name: 'toneSlopeAtMid',
    about: 'stops in the file for one stop of light',
    value: (f) => f.toneResponse?.slopeAtMid ?? null,
  },
  {
    name: 'toneUncertaintyStops',
    about: 'standard uncertainty of one stop of difference',
    value: (f) => f.toneResponse?.uncertaintyStops ?? null,
  },
  { name: 'measurement', about: 'where the whole measurement is', value: (f) => f.measurement },
];

/** Text that a spreadsheet would run as a formula gets an apostrophe in front; that is the usual defence (OWASP, "CSV Injection"). */
function defuse(text: string): string {
  return /^[=+\-@\t\r\n\uff0b\uff0d\uff1d\uff20]/.test(text) ? `'${text}` : text;
}

function writeCell(value: Cell): string {
  if (value === null) return '';
  if (typeof value === 'number') return Number.isInteger(value) ? String(value) : String(Number(value.toPrecision(6)));
  if (typeof value === 'boolean') return value ? 'true' : 'false';
  const text = defuse(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/**
 * One row a frame, RFC 4180: comma-separated, CRLF after every record, a header, UTF-8 without a byte-order mark.
 * Empty cell: not known. Numbers are plain with a point and up to six digits; text that would run as a formula is
 * preceded by an apostrophe.
 */
export function renderFramesCsv(report: ShootReport): string {
  const header = FRAME_COLUMNS.map((column) => column.name).join(',');
  const rows = correctedFrames(report).map((frame) =>
    FRAME_COLUMNS.map((column) => writeCell(column.value(frame))).join(','),
  );
  return [header, ...rows, ''].join('\r\n');
}

/** The columns as a table in Markdown, for the documentation that is published beside the schemas. */
export function framesCsvColumnsText(): string {
  const cells = [
    ['column', 'what stands in it'],
    ...FRAME_COLUMNS.map(({ name, about }) => [`\`${name}\``, about.replaceAll('|', '\\|')]),
  ] as [string, string][];
  const width = Math.max(...cells.map(([name]) => name.length));
  const aboutWidth = Math.max(...cells.map(([, about]) => about.length));
  const rows = cells.map(([name, about]) => `| ${name.padEnd(width)} | ${about.padEnd(aboutWidth)} |`);
  rows.splice(1, 0, `| ${'-'.repeat(width)} | ${'-'.repeat(aboutWidth)} |`);
  return [
    '# frames.csv',
    '',
    'One row a frame, RFC 4180: comma-separated, CRLF after every record, a header, UTF-8 without a byte-order mark. An empty',
    'cell is not known. Columns that end in `Stops` are stops of light, in `Share` 0 to 1; text that a spreadsheet would run as',
    'a formula has an apostrophe in front.',
    '',
    ...rows,
    '',
  ].join('\n');
}
