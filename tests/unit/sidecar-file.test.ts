import { mkdirSync, readFileSync, readdirSync, statSync, symlinkSync, writeFileSync, chmodSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sidecarContent } from '../../src/render/sidecar-content.js';
import { writeSidecar } from '../../src/render/sidecar-file.js';
import { sidecarNames } from '../../src/render/sidecar-names.js';
import { mergedSidecar, newSidecar } from '../../src/render/sidecar-packet.js';
import { fakeCorrectedFrame } from '../support/report.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const content = sidecarContent(fakeCorrectedFrame({ name: 'P1.JPG' }), null);
const off = sidecarContent(fakeCorrectedFrame({ name: 'P1.JPG', verdict: 'off' }), null);
const FOREIGN = '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" xmlns:a="urn:a" a:b="c"/></rdf:RDF>'; // prettier-ignore

describe('sidecar files', () => {
  it('are created, left alone when nothing changed, and merged with', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.xmp');
    expect(await writeSidecar(path, content)).toBe('created');
    expect(readFileSync(path, 'utf8')).toBe(newSidecar(content));
    const { mtimeNs } = statSync(path, { bigint: true });
    expect(await writeSidecar(path, content)).toBe('unchanged');
    expect(statSync(path, { bigint: true }).mtimeNs).toBe(mtimeNs);
    expect(await writeSidecar(path, off)).toBe('merged');
    expect(readFileSync(path, 'utf8')).toBe(newSidecar(off));
    expect(readdirSync(folder)).toEqual(['P1.xmp']);
  });

  it('keep another program’s properties and the file’s mode', async () => {
    const path = join(temporaryFolder(), 'P1.xmp');
    writeFileSync(path, FOREIGN);
    chmodSync(path, 0o640);
    expect(await writeSidecar(path, content)).toBe('merged');
    expect(readFileSync(path, 'utf8')).toBe(mergedSidecar(Buffer.from(FOREIGN), content));
    expect(readFileSync(path, 'utf8')).toContain('a:b="c"');
    expect(statSync(path).mode & 0o777).toBe(0o640);
  });

  it('are not touched when they are no XMP, a link or a folder', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.xmp');
    writeFileSync(path, 'not XML');
    await expect(writeSidecar(path, content)).rejects.toMatchObject({ code: 'sidecar-refused' });
    expect(readFileSync(path, 'utf8')).toBe('not XML');
    symlinkSync(path, join(folder, 'P2.xmp'));
    await expect(writeSidecar(join(folder, 'P2.xmp'), content)).rejects.toMatchObject({ code: 'sidecar-refused' });
    mkdirSync(join(folder, 'P3.xmp'));
    await expect(writeSidecar(join(folder, 'P3.xmp'), content)).rejects.toMatchObject({ code: 'sidecar-refused' });
    expect(readdirSync(folder).sort()).toEqual(['P1.xmp', 'P2.xmp', 'P3.xmp']);
  });

  it('written by many at once are one whole file', async () => {
    const folder = temporaryFolder();
    const path = join(folder, 'P1.xmp');
    const outcomes = await Promise.allSettled(
      Array.from({ length: 12 }, (_, i) => writeSidecar(path, i % 2 === 0 ? content : off)),
    );
    expect(outcomes.filter((o) => o.status === 'fulfilled' && o.value === 'created')).toHaveLength(1);
    expect([newSidecar(content), newSidecar(off)]).toContain(readFileSync(path, 'utf8'));
    expect(readdirSync(folder)).toEqual(['P1.xmp']);
  });
});

describe('names of sidecars', () => {
  const names = (...list: string[]) => Object.fromEntries(sidecarNames(list));

  it('change the extension where a stem has one file, and where it has one raw', () => {
    expect(names('P1.JPG', 'P2.NEF', 'P2.JPG')).toEqual({
      'P1.JPG': 'P1.xmp',
      'P2.NEF': 'P2.xmp',
      'P2.JPG': 'P2.JPG.xmp',
    });
  });

  it('never meet', () => {
    expect(names('P1.JPG', 'P1.TIF')).toEqual({ 'P1.JPG': 'P1.JPG.xmp', 'P1.TIF': 'P1.TIF.xmp' });
    expect(names('P1.NEF', 'P1.DNG')).toEqual({ 'P1.NEF': 'P1.NEF.xmp', 'P1.DNG': 'P1.DNG.xmp' });
    const tricky = [
      'P1.JPG',
      'P1.TIF',
      'P1.JPG.TIF',
      'p2.jpg',
      'P2.TIF',
      'plain',
      'plain.jpg',
      '.hidden',
      'P1.jpg.png',
    ];
    const out = [...sidecarNames(tricky).values()].map((name) => name.toLowerCase());
    expect(new Set(out).size).toBe(tricky.length);
  });
});
