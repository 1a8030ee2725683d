import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkedFrameName } from '../../src/api/frame-name.js';
import { frameNameOf, nameFrames } from '../../src/commands/find-frames.js';
import { safeFileNames } from '../../src/render/file-names.js';

const HOSTILE = [
  'a\nb.jpg',
  'a\u202egpj.exe',
  'a\u200b.jpg',
  'a\u2060.jpg',
  'CON',
  'NUL.jpg',
  'com1.jpg',
  'caf\u00e9.jpg',
  'cafe\u0301.jpg',
  '..jpg',
  '-rf',
  'x'.repeat(4096),
  '語'.repeat(400),
  'e\u0301'.repeat(900),
  '\u{1f468}\u200d\u{1f467}.jpg',
  '\\..\\x.jpg',
  '\ud800.jpg',
  ' a ',
];
/** What a folder's entry may be called, whatever wrote it: no slash, not empty, not `.` or `..`. */
const entryNames = fc
  .oneof(
    fc.constantFrom(...HOSTILE),
    fc.string({ unit: 'binary', minLength: 1, maxLength: 300 }),
    fc.tuple(fc.constantFrom(...HOSTILE), fc.string({ unit: 'grapheme' })).map(([a, b]) => a + b),
  )
  .map((name) => name.replaceAll('/', '_').replaceAll('\0', '_'))
  .filter((name) => !['', '.', '..'].includes(name));

describe('names of files, whatever they are', () => {
  it('become frame names that the service takes, each its own', () => {
    fc.assert(
      fc.property(fc.array(entryNames, { maxLength: 12 }), (names) => {
        // As a folder's listing comes: names are decoded from bytes, so that half a character is none.
        const listed = [...new Set(names.map((name) => Buffer.from(name).toString()))].filter((name) => name.trim() !== ''); // prettier-ignore
        const found = nameFrames(listed.map((below) => ({ path: `/card/${below}`, root: '/card', below })));
        for (const { name } of found) expect(checkedFrameName(name)).toBe(name);
        expect(new Set(found.map(({ name }) => name)).size).toBe(listed.length);
      }),
      { numRuns: 300, seed: 5 },
    );
  });

  it('become file names inside the folder, each its own, also where case and composition do not count', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(entryNames, fc.constantFrom('../../x', '/etc/passwd', '..', '')), { maxLength: 12 }),
        (names) => {
          const files = safeFileNames(names);
          expect(files.size).toBe(new Set(names).size);
          const out = [...files.values()];
          expect(new Set(out.map((name) => name.normalize('NFC').toLowerCase())).size).toBe(out.length);
          for (const name of out) {
            // eslint-disable-next-line no-control-regex
            expect(name).not.toMatch(/[/\\\u0000-\u001f\u202a-\u202e]|^\.|[. ]$|^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i);
            expect(Buffer.byteLength(name)).toBeLessThanOrEqual(130);
          }
        },
      ),
      { numRuns: 300, seed: 5 },
    );
  });

  it('of 4,096 bytes and deeper paths are cut and marked, so that two that differ stay two', () => {
    const [a, b] = [`${'d/'.repeat(2000)}a.jpg`, `${'e/'.repeat(2000)}a.jpg`].map(frameNameOf);
    expect(a).not.toBe(b);
    expect(Buffer.byteLength(a ?? '')).toBeLessThanOrEqual(255);
  });
});
