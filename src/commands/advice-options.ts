import { mkdir, readdir } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { type Command, Option } from 'commander';
import type { FrameMeasurement } from '../contracts/measurement.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import type { MaskKind } from '../render/advice-files.js';
import { safeFileNames } from '../render/file-names.js';
import { correctedFrames } from '../render/corrected-frames.js';
import { sidecarContent } from '../render/sidecar-content.js';
import { writeSidecar } from '../render/sidecar-file.js';
import { sidecarNames } from '../render/sidecar-names.js';
import { type FoundFrame, IMAGE_EXTENSIONS } from './find-frames.js';
import type { OutputFlags } from './present.js';
import type { CommandContext } from './terminal.js';

export interface AdviceFlags extends OutputFlags {
  sidecars?: boolean;
  sidecarsBeside?: boolean;
  masks?: keyof typeof MASK_KINDS;
}

const MASK_KINDS = {
  png8: { format: 'png', depth: 8 },
  png16: { format: 'png', depth: 16 },
  tiff8: { format: 'tiff', depth: 8 },
  tiff16: { format: 'tiff', depth: 16 },
} as const satisfies Record<string, MaskKind>;

export function addAdviceOptions(command: Command): Command {
  return command
    .option('--sidecars', 'write XMP sidecars (keywords, numbers, face and lower-body regions) into the output folder')
    .option(
      '--sidecars-beside',
      'write them beside the frames; what other programs wrote in a sidecar that is there stays',
    )
    .addOption(
      new Option('--masks <kind>', 'write a mask for each region to lift into the output folder').choices(
        Object.keys(MASK_KINDS),
      ),
    );
}

/** Throws `bad-usage` for options that need an output folder when there is none. */
export function checkAdvice(flags: AdviceFlags): void {
  if (flags.out !== undefined) return;
  if (flags.sidecars === true) {
    throw new StopledgerError('bad-usage', '--sidecars needs --out FOLDER; --sidecars-beside writes beside the frames');
  }
  if (flags.masks !== undefined) throw new StopledgerError('bad-usage', '--masks needs --out FOLDER');
}

export const maskKindOf = (flags: AdviceFlags): MaskKind | null =>
  flags.masks === undefined ? null : MASK_KINDS[flags.masks];

/** Where each frame's sidecar goes, by frame name, for both options. */
async function sidecarPaths(
  frames: readonly FoundFrame[],
  flags: AdviceFlags,
): Promise<[name: string, path: string][]> {
  const paths: [string, string][] = [];
  if (flags.sidecars === true && flags.out !== undefined) {
    const folder = join(flags.out, 'sidecars');
    await mkdir(folder, { recursive: true });
    const files = safeFileNames(frames.map(({ name }) => name));
    const sidecars = sidecarNames([...files.values()]);
    for (const [name, file] of files) paths.push([name, join(folder, sidecars.get(file) ?? `${file}.xmp`)]);
  }
  if (flags.sidecarsBeside === true) {
    const namesIn = new Map<string, Map<string, string>>();
    for (const { name, path } of frames) {
      const folder = dirname(path);
      let names = namesIn.get(folder);
      if (names === undefined) namesIn.set(folder, (names = sidecarNames(await imagesIn(folder, frames))));
      paths.push([name, join(folder, names.get(basename(path)) ?? `${basename(path)}.xmp`)]);
    }
  }
  return paths;
}

/**
 * `--sidecars` and `--sidecars-beside`: a sidecar for every frame of the report. One that cannot be written is told
 * with its reason and the others go on.
 *
 * @returns how many were not written
 */
export async function writeSidecars(
  report: ShootReport,
  frames: readonly FoundFrame[],
  measurementOf: (name: string) => Promise<FrameMeasurement | null>,
  flags: AdviceFlags,
  context: CommandContext,
): Promise<number> {
  const paths = await sidecarPaths(frames, flags);
  if (paths.length === 0) return 0;
  const judged = new Map(correctedFrames(report).map((frame) => [frame.name, frame]));
  const counts = { created: 0, merged: 0, unchanged: 0 };
  let refused = 0;
  for (const [name, path] of paths) {
    // A camera's JPEG beside its raw is no frame of its own: the raw's sidecar speaks for both.
    const frame = judged.get(name);
    if (frame === undefined) continue;
    try {
      counts[await writeSidecar(path, sidecarContent(frame, await measurementOf(name)))] += 1;
    } catch (thrown) {
      refused += 1;
      const { message, code } = asStopledgerError(thrown, 'sidecar-refused');
      context.stderr.write(`no sidecar: ${path}: ${message} (${code})\n`);
    }
  }
  if (flags.quiet !== true) {
    context.stderr.write(`sidecars: ${counts.created} new, ${counts.merged} added to, ${counts.unchanged} unchanged\n`);
  }
  return refused;
}

/** All files that may share a sidecar's name: those of the shoot and whatever else lies there but sidecars. */
async function imagesIn(folder: string, frames: readonly FoundFrame[]): Promise<string[]> {
  const there = await readdir(folder, { withFileTypes: true });
  const files = there
    .filter((entry) => !entry.isDirectory() && IMAGE_EXTENSIONS.has(extname(entry.name).toLowerCase()))
    .map(({ name }) => name);
  const ours = frames.filter(({ path }) => dirname(path) === folder).map(({ path }) => basename(path));
  return [...new Set([...files, ...ours])];
}
