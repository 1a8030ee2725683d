import { readFile, stat } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import type { Command } from 'commander';
import { glob, isDynamicPattern } from 'tinyglobby';
import { StopledgerError } from '../errors.js';
import { type FoundFrames, findFrames, naturalOrder } from './find-frames.js';
import type { CommandContext } from './terminal.js';

export interface FrameArgumentFlags {
  filesFrom?: string;
  /** `-0`. */
  null?: boolean;
  recursive?: boolean;
  out?: string;
}

export interface AskedFrames extends FoundFrames {
  /** What the shoot is called unless the user says: the first folder or file. */
  shootName: string;
}

const STDIN = '-';

export function addFrameArguments(command: Command): Command {
  return command
    .argument('[path...]', 'image files, folders to look through, or quoted patterns ("card-*/**/*.NEF"); - is --files-from -')
    .option('--files-from <file>', 'also the files that this list names, one a line; - reads it from standard input')
    .option('-0, --null', 'the list parts names by NUL instead of line ends, as find -print0 writes it')
    .option('--no-recursive', 'only what lies straight in the folders'); // prettier-ignore
}

async function readList(from: string, context: CommandContext): Promise<string> {
  try {
    if (from !== STDIN) return await readFile(from, 'utf8');
    const pieces: Buffer[] = [];
    for await (const piece of context.stdin ?? []) pieces.push(Buffer.from(piece));
    return Buffer.concat(pieces).toString('utf8');
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-usage', `--files-from "${from}" cannot be read: ${reason}`, { cause: error });
  }
}

/** Names in a list: parted by line ends, or by NUL; empty ones are left out. */
export function namesInList(text: string, byNul: boolean): string[] {
  const names = byNul ? text.split('\0') : text.split('\n').map((line) => line.replace(/\r$/, ''));
  return names.filter((name) => name !== '');
}

/** Files and folders that a pattern means; a path that is there is meant as it stands, whatever letters it holds. */
async function expanded(path: string): Promise<string[]> {
  if ((await stat(path).catch(() => null)) !== null) return [path];
  const pattern = process.platform === 'win32' ? path.replaceAll('\\', '/') : path;
  if (!isDynamicPattern(pattern)) return [path];
  const found = await glob(pattern, { absolute: true, onlyFiles: false, expandDirectories: false, dot: false });
  if (found.length === 0) throw new StopledgerError('bad-usage', `PATH "${path}": nothing matches this pattern`);
  return found.map((one) => resolve(one)).sort(naturalOrder);
}

/**
 * The frames that the arguments of a command mean. Throws `bad-usage` for a path that is not there, a pattern that
 * matches nothing, a list that cannot be read or no path at all; `no-frames` when there are no image files.
 */
export async function askedFrames(
  paths: readonly string[],
  flags: FrameArgumentFlags,
  context: CommandContext,
): Promise<AskedFrames> {
  const lists = [...new Set([...paths.filter((path) => path === STDIN), ...(flags.filesFrom === undefined ? [] : [flags.filesFrom])])]; // prettier-ignore
  if (flags.null === true && lists.length === 0) {
    throw new StopledgerError('bad-usage', '--null: expected together with --files-from or -');
  }
  const named: string[] = [];
  for (const path of paths) if (path !== STDIN) named.push(...(await expanded(path)));
  for (const list of lists) {
    const names = namesInList(await readList(list, context), flags.null === true);
    if (names.length === 0) {
      const what = list === STDIN ? 'standard input' : `"${list}"`;
      throw new StopledgerError('no-frames', `the list of files from ${what} is empty`);
    }
    named.push(...names);
  }
  if (named.length === 0) {
    throw new StopledgerError('bad-usage', "missing required argument 'path': files, folders or patterns, or a list with --files-from"); // prettier-ignore
  }
  const found = await findFrames(named, {
    recursive: flags.recursive !== false,
    ...(flags.out === undefined ? {} : { except: resolve(flags.out) }),
  });
  const first = paths.find((path) => path !== STDIN && !isDynamicPattern(path)) ?? dirname(found.frames[0]?.path ?? '');
  return { ...found, shootName: basename(resolve(first)) };
}
