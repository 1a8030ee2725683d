import { readFile, writeFile } from 'node:fs/promises';
import { basename, extname } from 'node:path';
import type { Command } from 'commander';
import { z } from 'zod';
import { SavedLook } from '../contracts/look.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError } from '../errors.js';
import { lookOf } from '../shoot/look/save-look.js';
import type { CommandContext } from './terminal.js';

export interface SaveLookFlags {
  saveLook?: string;
  saveLookSetup?: string;
}

export function addSaveLookOptions(command: Command): Command {
  return command
    .option('--save-look <file>', 'keep a set-up as a look that other shoots are held against with --look')
    .option('--save-look-setup <id>', 'which set-up, such as s2 (default: the one with the most frames)');
}

/** Throws `bad-usage` for a choice of set-up without a file to save to. Called before anything is measured. */
export function checkSaveLook({ saveLook, saveLookSetup }: SaveLookFlags): void {
  if (saveLookSetup !== undefined && saveLook === undefined)
    throw new StopledgerError('bad-usage', '--save-look-setup: expected together with --save-look FILE');
}

/** Writes the look that the flags ask for, named after its file. Throws `bad-usage` when it cannot be saved. */
export async function saveLook(
  report: ShootReport,
  flags: SaveLookFlags & { json?: boolean },
  context: CommandContext,
): Promise<void> {
  if (flags.saveLook === undefined) return;
  const name = basename(flags.saveLook, extname(flags.saveLook));
  const look = lookOf(report, name, flags.saveLookSetup);
  try {
    await writeFile(flags.saveLook, `${JSON.stringify(look, null, 2)}\n`);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-usage', `--save-look "${flags.saveLook}" cannot be written: ${reason}`, {
      cause: error,
    });
  }
  if (flags.json !== true)
    context.stdout.write(`\nThe look "${name}" (${look.frames} frames) is in ${flags.saveLook}\n`);
}

/** Reads a saved look. Throws `bad-usage` when it cannot be read, `bad-plan` when it is none, naming the field. */
export async function readLook(path: string): Promise<SavedLook> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-usage', `--look "${path}" cannot be read: ${reason}`, { cause: error });
  }
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-plan', `--look "${path}" is not JSON: ${reason}`, { cause: error });
  }
  const look = SavedLook.safeParse(json);
  if (!look.success) throw new StopledgerError('bad-plan', `--look "${path}": ${z.prettifyError(look.error)}`);
  return look.data;
}
