import { execFileSync, spawnSync } from 'node:child_process';

/** ExifTool, an independent reader and writer of XMP (Debian: libimage-exiftool-perl). */
export const EXIFTOOL_INSTALLED = spawnSync('exiftool', ['-ver']).status === 0;
export const EXIFTOOL_NOTE = EXIFTOOL_INSTALLED
  ? ''
  : ' (skipped: exiftool is not installed; apt-get install libimage-exiftool-perl)';

/** All tags of a file as ExifTool reads them: structures kept, numbers as written, groups in the names. */
export function exifTags(path: string): Record<string, unknown> {
  const out = execFileSync('exiftool', ['-json', '-struct', '-G1', '-n', '-a', path], { encoding: 'utf8' });
  return (JSON.parse(out) as Record<string, unknown>[])[0] ?? {};
}

/** Changes a file with ExifTool. */
export function exiftool(...args: string[]): void {
  execFileSync('exiftool', ['-q', '-overwrite_original', ...args], { stdio: 'pipe' });
}
