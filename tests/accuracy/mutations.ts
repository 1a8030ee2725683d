import { readFileSync, readdirSync, existsSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { FrameMeasurement } from '../../src/contracts/measurement.js';
import { MeasuringOptions } from '../../src/contracts/options.js';
import { asStopledgerError } from '../../src/errors.js';
import { createMeasuringPool } from '../../src/queue/measuring-pool.js';
import { sharp } from '../../worker/decode/sharp-setup.js';
import { jpegWithExifInserted, writeTiff } from '../support/exif-writer.js';
import { embedInJpeg, embedInPng, pngChunk, withMendedChecksums, withPngChunks } from '../support/icc-writer.js';
import { mutateParts } from '../support/mutate-parts.js';
import { mutate } from '../support/mutate.js';
import { rgbProfile, SRGB_COLUMNS, SRGB_PARA } from '../support/profiles.js';
import { busyPixels, SEEDS, type SeedName } from '../support/seed-images.js';

export interface MutationTally {
  kind: string;
  tried: number;
  measured: number;
  /** By error code of the file's own. */
  refused: Record<string, number>;
  /** The process was ended at the time limit. */
  timedOut: number;
  /** The process ended by itself. */
  died: number;
  /** Longest wait for an answer, from asking a free process to its answer. */
  slowestSeconds: number;
  /** Files cut short, and how many of them were measured all the same (files of others may end in bytes that nobody needs). */
  cut: number;
  cutMeasured: number;
  /**
   * What must not be: a measurement that breaks its schema or is not finite, an error that is not a frame's, a whole
   * file of our own making that was cut short and yet measured.
   */
  wrong: string[];
}

const FILES = fileURLToPath(new URL('../../../shared/files/', import.meta.url));
const OUTSIDE_KIND = 'outside ';
const OUTSIDE = /\.(nef|cr2|crw|raf|rw2|mrw|x3f|iiq|heic|dng)$/i;

/** PNG decoders refuse what fails its checksum: with the checksums mended, damage reaches what lies behind them. */
const MENDED = 'png, checksums mended';

/** A JPEG of which a good part is Exif and a profile, and a PNG with every colour chunk, so that damage falls there. */
async function statedSeeds(): Promise<[string, Buffer[]][]> {
  const exif = writeTiff({
    ifd0: [
      { tag: 0x010f, type: 'ascii', value: 'Village Hall Cameras' },
      { tag: 0x0110, type: 'ascii', value: 'VHC Trestle 2' },
      { tag: 0x0112, type: 'short', value: [6] },
    ],
    exif: [
      { tag: 0x829a, type: 'rational', value: [[1, 125]] },
      { tag: 0x829d, type: 'rational', value: [[80, 10]] },
      { tag: 0x8827, type: 'short', value: [100] },
      { tag: 0x9003, type: 'ascii', value: '2026:05:16 10:00:00' },
      { tag: 0x9209, type: 'short', value: [9] },
      { tag: 0xa001, type: 'short', value: [0xffff] },
    ],
    interop: [{ tag: 1, type: 'ascii', value: 'R03' }],
  });
  const small = sharp(busyPixels(3, 24, 16), { raw: { width: 24, height: 16, channels: 3 } });
  const jpeg = jpegWithExifInserted(await small.clone().jpeg().toBuffer(), exif);
  const chunks = ['gAMA', 'cHRM'].map((type, index) => pngChunk(type, Buffer.alloc(index === 0 ? 4 : 32, 0x11)));
  const png = await small.clone().png().toBuffer();
  return [
    ['jpeg, mostly exif', [jpeg]],
    ['jpeg, mostly profile', [embedInJpeg(jpeg, rgbProfile('hall', SRGB_COLUMNS, SRGB_PARA, true))]],
    [
      MENDED,
      [
        await SEEDS.png(),
        withPngChunks(png, chunks),
        embedInPng(png, rgbProfile('hall', SRGB_COLUMNS, SRGB_PARA, true)),
      ],
    ],
  ];
}

/** Seeds of our own making, and small files of many makers where ../shared is here. */
async function seeds(): Promise<Map<string, Buffer[]>> {
  const kinds = new Map<string, Buffer[]>(await statedSeeds());
  for (const name of Object.keys(SEEDS) as SeedName[]) kinds.set(name, [await SEEDS[name]()]);
  for (const folder of existsSync(FILES) ? ['exiftool-t', 'heif'] : []) {
    for (const file of readdirSync(join(FILES, folder)).filter((f) => OUTSIDE.test(f))) {
      const kind = `${OUTSIDE_KIND}${extname(file).slice(1).toLowerCase()}`;
      kinds.set(kind, [...(kinds.get(kind) ?? []), readFileSync(join(FILES, folder, file))]);
    }
  }
  return kinds;
}

/** Null when the result is as it must be, else what is wrong. JSON turns what is not finite into null: compared with the schema. */
function faultOf(measurement: unknown): string | null {
  const checked = FrameMeasurement.safeParse(measurement);
  if (!checked.success) return checked.error.message.slice(0, 200);
  const throughJson = FrameMeasurement.safeParse(JSON.parse(JSON.stringify(measurement)));
  if (!throughJson.success) return `not the same through JSON: ${throughJson.error.message.slice(0, 200)}`;
  return JSON.stringify(measurement) === JSON.stringify(checked.data) ? null : 'holds more than its schema';
}

/** Bytes damaged anywhere, or (every second seed) whole parts out of their place, those of another file among them. */
function damagedCopy(
  original: Buffer,
  others: readonly Buffer[],
  seed: number,
): { bytes: Buffer; told: string; kind: string } {
  return seed % 2 === 0
    ? mutate(original, seed)
    : mutateParts(original, others[seed % others.length] ?? original, seed);
}

/**
 * Measures `perKind` damaged copies of every kind in the real pool, each within `timeLimitSeconds`. `only`: names of
 * kinds must contain it. `firstSeed`: other copies than those of another run.
 */
export async function measureMutations(
  perKind: number,
  timeLimitSeconds: number,
  only = '',
  firstSeed = 1,
): Promise<MutationTally[]> {
  const workers = 2;
  const folder = await mkdtemp(join(tmpdir(), 'stopledger-mutations-'));
  const pool = createMeasuringPool({ workers, timeLimitSeconds, maxAttempts: 1 });
  // Raws of others keep their full size in the header: a low limit would refuse them before anything is decoded.
  const optionsOf = (kind: string) =>
    MeasuringOptions.parse({ maxPixels: kind.startsWith(OUTSIDE_KIND) ? 60_000_000 : 4_000_000 });

  const kinds = await seeds();
  const all = [...kinds.values()].flat();

  const tryOne = async (tally: MutationTally, originals: readonly Buffer[], seed: number): Promise<void> => {
    const original = originals[seed % originals.length];
    if (original === undefined) return;
    const { bytes: damaged, told, kind: damage } = damagedCopy(original, all, seed);
    const bytes = tally.kind === MENDED ? withMendedChecksums(damaged) : damaged;
    const path = join(folder, `frame-${seed}`);
    await writeFile(path, bytes);
    tally.tried += 1;
    if (damage === 'cut') tally.cut += 1;
    const start = performance.now();
    try {
      const { measurement } = await pool.measure({ path, options: optionsOf(tally.kind) });
      tally.measured += 1;
      const fault = faultOf(measurement);
      if (fault !== null) tally.wrong.push(`${told}: ${fault}`);
      if (damage === 'cut') {
        tally.cutMeasured += 1;
        if (!tally.kind.startsWith(OUTSIDE_KIND))
          tally.wrong.push(`${told}: cut to ${bytes.length} bytes and measured`);
      }
    } catch (thrown) {
      const { code, message } = asStopledgerError(thrown);
      if (code === 'frame-timed-out') tally.timedOut += 1;
      else if (code === 'frame-process-died') tally.died += 1;
      else tally.refused[code] = (tally.refused[code] ?? 0) + 1;
      if (!code.startsWith('frame-')) tally.wrong.push(`${told}: ${code} ${message}`);
    } finally {
      tally.slowestSeconds = Math.max(tally.slowestSeconds, (performance.now() - start) / 1000);
      await rm(path, { force: true });
    }
  };

  try {
    const tallies: MutationTally[] = [];
    for (const [kind, originals] of kinds) {
      if (!kind.includes(only)) continue;
      const counts = { tried: 0, measured: 0, timedOut: 0, died: 0, slowestSeconds: 0, cut: 0, cutMeasured: 0 };
      const tally: MutationTally = { kind, ...counts, refused: {}, wrong: [] };
      let next = firstSeed;
      const lane = async (): Promise<void> => {
        while (next < firstSeed + perKind) await tryOne(tally, originals, next++);
      };
      await Promise.all(Array.from({ length: workers }, lane));
      tallies.push(tally);
    }
    return tallies;
  } finally {
    await pool.close();
    await rm(folder, { recursive: true, force: true });
  }
}

/** One line of the long form's table. */
export function tallyLine({
  kind,
  tried,
  measured,
  refused,
  timedOut,
  died,
  cut,
  cutMeasured,
  slowestSeconds,
}: MutationTally): string {
  const codes = Object.entries(refused).map(([code, n]) => `${n} ${code.replace('frame-', '')}`);
  return [
    kind.padEnd(18),
    `${tried} tried, ${measured} measured`,
    `refused: ${codes.join(', ') || 'none'}`,
    `${timedOut} timed out, ${died} died`,
    `${cutMeasured} of ${cut} cut short measured`,
    `slowest ${slowestSeconds.toFixed(1)} s`,
  ].join('; ');
}
