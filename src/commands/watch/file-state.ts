import { open, stat } from 'node:fs/promises';

/** What tells whether a file is still being written. */
export interface FileState {
  bytes: number;
  mtimeMs: number;
  ctimeMs: number;
  inode: number;
}

/** Null for what is no file (any more), or cannot be looked at. */
export async function fileStateOf(path: string): Promise<FileState | null> {
  try {
    const info = await stat(path);
    if (!info.isFile()) return null;
    return { bytes: info.size, mtimeMs: info.mtimeMs, ctimeMs: info.ctimeMs, inode: info.ino };
  } catch {
    return null;
  }
}

/** Whether two looks saw the same content, as far as the file system tells. */
export const sameContent = (a: FileState, b: FileState): boolean =>
  a.bytes === b.bytes && a.mtimeMs === b.mtimeMs && a.inode === b.inode;

/** The same, and nobody changed its rights or name in between either. */
export const untouched = (a: FileState, b: FileState): boolean => sameContent(a, b) && a.ctimeMs === b.ctimeMs;

const TAIL_BYTES = 64;
const PNG_END = Buffer.from('49454e44ae426082', 'hex');

/**
 * Whether a JPEG or PNG ends as those formats end (JPEG: ITU-T T.81, B.1.1.3, EOI; PNG: ISO/IEC 15948, IEND), zeros
 * behind it aside. False for any other format, whose end shows only by nothing being added any more. A file cut inside may
 * end so by chance: this only decides how long to wait, never whether a frame is whole.
 */
export async function endsAsItsFormat(path: string, bytes: number): Promise<boolean> {
  const head = Buffer.alloc(4);
  const tail = Buffer.alloc(Math.min(TAIL_BYTES, bytes));
  try {
    const file = await open(path, 'r');
    try {
      await file.read(head, 0, head.length, 0);
      await file.read(tail, 0, tail.length, bytes - tail.length);
    } finally {
      await file.close();
    }
  } catch {
    return false;
  }
  if (head[0] === 0xff && head[1] === 0xd8) {
    let end = tail.length;
    while (end > 0 && tail[end - 1] === 0) end -= 1;
    return end >= 2 && tail[end - 2] === 0xff && tail[end - 1] === 0xd9;
  }
  return head.toString('latin1') === '\u0089PNG' && tail.subarray(-PNG_END.length).equals(PNG_END);
}
