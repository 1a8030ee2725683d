import { mkdir, open, readFile, rename } from 'node:fs/promises';
import { homedir } from 'node:os';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import { CalibrationFile, type CameraCalibration } from '../contracts/calibration.js';
import { StopledgerError } from '../errors.js';

/** Where calibrations are kept unless told otherwise: the user's configuration folder (XDG Base Directory Specification). */
export function defaultCalibrationFile(environment: NodeJS.ProcessEnv): string {
  const { XDG_CONFIG_HOME: configured } = environment;
  const base = configured !== undefined && configured !== '' ? configured : join(homedir(), '.config');
  return join(base, 'stopledger', 'calibrations.json');
}

/** The calibrations kept in a file; none when there is no file. Throws `bad-configuration` for one that is not valid. */
export async function readCalibrations(path: string): Promise<CameraCalibration[]> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return [];
    const reason = error instanceof Error ? error.message : String(error);
    throw new StopledgerError('bad-configuration', `the calibrations in ${path} cannot be read: ${reason}`);
  }
  let content: unknown;
  try {
    content = JSON.parse(text);
  } catch {
    throw new StopledgerError('bad-configuration', `the calibrations in ${path} are not JSON`);
  }
  const parsed = CalibrationFile.safeParse(content);
  if (!parsed.success) {
    throw new StopledgerError('bad-configuration', `the calibrations in ${path}: ${z.prettifyError(parsed.error)}`);
  }
  return parsed.data.calibrations;
}

/** Adds calibrations to a file, in place of those with the same key; written whole, then renamed. */
export async function keepCalibrations(path: string, added: readonly CameraCalibration[]): Promise<void> {
  const name = ({ key }: CameraCalibration) => JSON.stringify([key.cameraMake, key.cameraModel, key.rendering]);
  const byKey = new Map((await readCalibrations(path)).map((c) => [name(c), c]));
  for (const calibration of added) byKey.set(name(calibration), calibration);
  const file: CalibrationFile = { schemaVersion: 1, calibrations: [...byKey.values()] };
  await mkdir(dirname(path), { recursive: true });
  const unfinished = `${path}.${process.pid}.tmp`;
  const handle = await open(unfinished, 'w');
  try {
    await handle.writeFile(`${JSON.stringify(file, null, 2)}\n`);
    await handle.sync();
  } finally {
    await handle.close();
  }
  await rename(unfinished, path);
}
