import { describe, expect, it } from 'vitest';
import { safeFileNames } from '../../src/render/file-names.js';

const names = (...list: string[]) => [...safeFileNames(list).values()];

describe('file names of a report folder', () => {
  it('keeps ordinary names, extension and all, so that one stem in two formats stays two files', () => {
    expect(names('P1.JPG', 'P1.TIF')).toEqual(['P1.JPG', 'P1.TIF']);
  });

  it('keeps names apart on a file system that ignores case or composition', () => {
    const out = names('p1.jpg', 'P1.JPG', 'a/b.jpg', 'a_b.jpg', 'a\\b.jpg', 'caf\u00e9.jpg', 'cafe\u0301.jpg');
    expect(new Set(out.map((name) => name.toLowerCase())).size).toBe(out.length);
  });

  it('numbers stay apart from names that look numbered', () => {
    const out = names('a?', 'a_', 'a_~2', 'a*');
    expect(new Set(out).size).toBe(4);
  });

  it.each([
    '../../etc/passwd',
    '..',
    '.',
    '',
    '.hidden',
    'CON',
    'nul.jpg',
    'com1.txt',
    'a:b',
    'a\u0000b',
    'trail. ',
    'x'.repeat(4096),
    '語'.repeat(400),
    '\u202egpj.exe',
  ])('gives a plain file name for %j', (name) => {
    const [out = ''] = names(name);
    expect(out).not.toMatch(/[/\\:*?"<>|]/);
    // eslint-disable-next-line no-control-regex
    expect(out).not.toMatch(/[\u0000-\u001f\u202a-\u202e]/);
    expect(out).not.toMatch(/^\.|[. ]$|^(con|nul|com1)(\.|$)/i);
    expect(out.length).toBeGreaterThan(0);
    expect(Buffer.byteLength(out)).toBeLessThanOrEqual(124);
  });

  it('long names that differ only at their end stay apart', () => {
    const out = names(`${'x'.repeat(300)}1`, `${'x'.repeat(300)}2`);
    expect(new Set(out).size).toBe(2);
  });
});
