import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sidecarContent } from '../../src/render/sidecar-content.js';
import { writeSidecar } from '../../src/render/sidecar-file.js';
import { EXIFTOOL_INSTALLED, EXIFTOOL_NOTE, exifTags, exiftool } from '../support/exiftool.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeFlag, fakeCorrectedFrame } from '../support/report.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const measurement = fakeMeasurement({ lowerBody: { levelStops: -1.5, basis: 'skin' } });
const frame = fakeCorrectedFrame({
  name: 'P1.JPG',
  verdict: 'off',
  fromSetupStops: -1.25,
  flags: [fakeFlag('lower-body-dark', 'fault', 'The lower body gets 1 & a half stops less <light>.')],
  lifts: [{ region: 'lower-body', stops: 1.2, because: 'Raise.', limitedBy: 'noise', outline: [] }],
});
const content = sidecarContent(frame, measurement);

describe.skipIf(!EXIFTOOL_INSTALLED)(`ExifTool reads the sidecars back${EXIFTOOL_NOTE}`, () => {
  it('keywords, numbers of our namespace, flags and lifts', async () => {
    const path = join(temporaryFolder(), 'P1.xmp');
    await writeSidecar(path, content);
    const tags = exifTags(path);
    expect(tags['ExifTool:Warning']).toBeUndefined();
    expect(tags['File:FileType']).toBe('XMP');
    expect(tags['XMP-dc:Subject']).toEqual(['stopledger: off', 'stopledger: lower body under-lit']);
    expect(tags['XMP-stopledger:FromSetupStops']).toBe(-1.25);
    expect(tags['XMP-stopledger:ToBaselineStops']).toBe(1.25);
    expect(tags['XMP-stopledger:Flags']).toEqual([
      {
        Code: 'lower-body-dark',
        Severity: 'fault',
        Because: 'The lower body gets 1 & a half stops less <light>.',
      },
    ]);
    expect(tags['XMP-stopledger:Lifts']).toEqual([
      { Region: 'lower-body', Stops: 1.2, LimitedBy: 'noise', Because: 'Raise.' },
    ]);
  });

  it('image regions with boundary, type, role and level', async () => {
    const path = join(temporaryFolder(), 'P1.xmp');
    await writeSidecar(path, content);
    const regions = exifTags(path)['XMP-iptcExt:ImageRegion'] as Record<string, unknown>[];
    const { box } = measurement.people[0]?.face ?? { box: null };
    expect(regions[0]).toMatchObject({
      RId: 'stopledger-face-1',
      Name: 'Face',
      RCtype: [
        { Name: 'human', Identifier: ['http://cv.iptc.org/newscodes/imageregiontype/human'] },
        { Name: 'face', Identifier: ['https://stopledger.example/ns/1.0/region/face'] },
      ],
      RRole: [{ Identifier: ['http://cv.iptc.org/newscodes/imageregionrole/subjectArea'] }],
      RegionBoundary: {
        RbShape: 'rectangle',
        RbUnit: 'relative',
        RbX: box?.x,
        RbY: box?.y,
        RbW: box?.width,
        RbH: box?.height,
      },
    });
    const outline = measurement.people[0]?.lowerBody?.outline ?? [];
    expect(outline.length).toBeGreaterThanOrEqual(3);
    expect(regions[1]).toMatchObject({
      RId: 'stopledger-lower-body-1',
      RegionBoundary: {
        RbShape: 'polygon',
        RbVertices: outline.map(([x, y]) => ({ RbX: Number(x.toFixed(4)), RbY: Number(y.toFixed(4)) })),
      },
      'XMP-stopledger:LevelStops': -1.5,
    });
  });

  it('what ExifTool wrote stays when we add ours, and ours stays when ExifTool adds its own', async () => {
    const path = join(temporaryFolder(), 'P1.xmp');
    exiftool('-XMP-dc:Subject=hall', '-XMP-dc:Title=Makers & day', '-XMP-xmp:CreateDate=2026:03:14 10:00:00', '-XMP-photoshop:City=Überlingen', path); // prettier-ignore
    const region =
      '{Name=Theirs,RId=crop-7,RegionBoundary={RbShape=rectangle,RbUnit=relative,RbX=0.1,RbY=0.2,RbW=0.3,RbH=0.4}}';
    exiftool(`-XMP-iptcExt:ImageRegion+=${region}`, path);
    const before = exifTags(path);
    expect(await writeSidecar(path, content)).toBe('merged');
    const merged = exifTags(path);
    expect(merged['XMP-dc:Subject']).toEqual(['hall', 'stopledger: off', 'stopledger: lower body under-lit']);
    for (const kept of ['XMP-dc:Title', 'XMP-xmp:CreateDate', 'XMP-photoshop:City', 'XMP-x:XMPToolkit']) {
      expect(before[kept]).toBeDefined();
      expect(merged[kept]).toEqual(before[kept]);
    }
    const ids = (tags: Record<string, unknown>) =>
      (tags['XMP-iptcExt:ImageRegion'] as { RId: string }[]).map((r) => r.RId);
    expect(ids(merged)).toEqual(['crop-7', 'stopledger-face-1', 'stopledger-lower-body-1']);

    exiftool('-XMP-dc:Subject+=later', path);
    expect(await writeSidecar(path, sidecarContent(fakeCorrectedFrame({ name: 'P1.JPG' }), null))).toBe('merged');
    const again = exifTags(path);
    expect(again['XMP-dc:Subject']).toEqual(['hall', 'later', 'stopledger: consistent']);
    expect(ids(again)).toEqual(['crop-7']);
    expect(again['XMP-stopledger:Lifts']).toBeUndefined();
    expect(again['XMP-dc:Title']).toBe('Makers & day');
    expect(readFileSync(path, 'utf8').match(/stopledger:verdict>/g)).toHaveLength(2);
  });
});
