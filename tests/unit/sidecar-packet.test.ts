import { DOMParser } from '@xmldom/xmldom';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sidecarContent } from '../../src/render/sidecar-content.js';
import { mergedSidecar, newSidecar } from '../../src/render/sidecar-packet.js';
import { fakeMeasurement } from '../support/measurement.js';
import { fakeFlag, fakeCorrectedFrame } from '../support/report.js';

const offFrame = fakeCorrectedFrame({
  name: 'P1.JPG',
  verdict: 'off',
  fromSetupStops: -1.25,
  flags: [fakeFlag('light-short', 'fault', 'Too dark & early.'), fakeFlag('no-face', 'note', 'No face.')],
});
const content = sidecarContent(offFrame, fakeMeasurement({ lowerBody: { levelStops: -1, basis: 'skin' } }));
const fine = sidecarContent(fakeCorrectedFrame({ name: 'P1.JPG' }), null);
const merge = (text: string, with_ = content): string => mergedSidecar(Buffer.from(text), with_);

/** Throws for anything that is not well-formed; a byte-order mark is no part of the document. */
const parse = (text: string) =>
  new DOMParser({
    onError: (level, message) => {
      if (level !== 'warning' || !message.startsWith('Unicode replacement character')) throw new Error(message);
    },
  }).parseFromString(text.replace(/^\ufeff/, ''), 'text/xml');
const DC = 'http://purl.org/dc/elements/1.1/';
const RDF = 'http://www.w3.org/1999/02/22-rdf-syntax-ns#';
const OURS = 'https://stopledger.example/ns/1.0/';
const IPTC = 'http://iptc.org/std/Iptc4xmpExt/2008-02-29/';

function keywords(text: string): string[] {
  const subjects = parse(text).getElementsByTagNameNS(DC, 'subject');
  expect(subjects.length).toBeLessThanOrEqual(1);
  return Array.from(subjects[0]?.getElementsByTagNameNS(RDF, 'li') ?? []).map((li) => li.textContent ?? '');
}
const own = (text: string, name: string): string[] =>
  Array.from(parse(text).getElementsByTagNameNS(OURS, name)).map((e) => e.textContent ?? '');
const regionIds = (text: string): string[] =>
  Array.from(parse(text).getElementsByTagNameNS(IPTC, 'rId')).map((e) => e.textContent ?? '');

/** XML 1.0, production 2. */
const NO_XML_CHARACTER = /[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu;

/** As another program might leave it: own prefix, comments, CDATA, properties as attributes, padding, CR LF inside. */
const FOREIGN = `<?xpacket begin='\ufeff' id='W5M0MpCehiHzreSzNTczkc9d'?>
<!-- kept by the archive -->
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="${RDF}">
  <rdf:Description rdf:about="uuid:77" xmlns:arch="https://archive.example/1/" xmlns:d="${DC}"
    arch:shelf="4 &lt; 5 &amp; &quot;6&quot;">
   <!-- a note -->
   <arch:note xml:lang="de"><![CDATA[a <b> & c]]></arch:note>
   <d:subject><rdf:Bag><rdf:li>hall</rdf:li><rdf:li>makers &amp; menders</rdf:li></rdf:Bag></d:subject>
   <d:title><rdf:Alt><rdf:li xml:lang="x-default">Portrait  day\u00a0\u{1f4f7}</rdf:li></rdf:Alt></d:title>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
${' '.repeat(200)}
<?xpacket end='w'?>`;

describe('a new sidecar', () => {
  it('holds verdict and flags as keywords, notes not among them, and the numbers under names with units', () => {
    const text = newSidecar(content);
    expect(keywords(text)).toEqual(['stopledger: off', 'stopledger: the light fell short']);
    expect(own(text, 'fromSetupStops')).toEqual(['-1.25']);
    expect(own(text, 'toBaselineStops')).toEqual(['1.25']);
    expect(own(text, 'because')).toEqual(['Too dark & early.', 'No face.']);
    expect(regionIds(text)).toEqual(['stopledger-face-1', 'stopledger-lower-body-1']);
  });

  it('says what is known of a frame that could not be measured', () => {
    const text = newSidecar(sidecarContent(fakeCorrectedFrame({ name: 'x', verdict: 'unreadable' }), null));
    expect(keywords(text)).toEqual(['stopledger: unreadable', 'stopledger: could not be measured']);
    expect(own(text, 'fromSetupStops')).toEqual([]);
  });

  it('is well-formed XML 1.0 whatever a sentence holds', () => {
    const anything = fc.string({ unit: fc.integer({ min: 0, max: 0xffff }).map((u) => String.fromCharCode(u)) });
    fc.assert(
      fc.property(anything, (because) => {
        const frame = fakeCorrectedFrame({ name: 'a', flags: [fakeFlag('face-dark', 'check', `x${because}`)] });
        const text = newSidecar(sidecarContent(frame, null));
        expect(text).not.toMatch(NO_XML_CHARACTER);
        // A parser takes CR and CR LF as LF unless they are written as references (XML 1.0, 2.11).
        const lines = (t: string | undefined) => t?.replaceAll(/\r\n?/g, '\n');
        expect(lines(own(text, 'because')[0])).toBe(lines(`x${because}`.replaceAll(NO_XML_CHARACTER, '\ufffd')));
      }),
      { numRuns: 300, seed: 7 },
    );
  });

  it('never writes settings of a program that develops pictures', () => {
    const namespaces = new Set(
      Array.from(parse(newSidecar(content)).getElementsByTagName('*')).map((e) => e.namespaceURI),
    );
    expect([...namespaces].sort()).toEqual(
      [RDF, DC, IPTC, OURS, 'adobe:ns:meta/', 'http://ns.adobe.com/xap/1.0/'].sort(),
    );
  });
});

describe('a sidecar that is there', () => {
  it('keeps every foreign property, comment and byte around the packet', () => {
    const text = merge(FOREIGN);
    expect(keywords(text)).toEqual(['hall', 'makers & menders', 'stopledger: off', 'stopledger: the light fell short']);
    for (const kept of [
      `<?xpacket begin='\ufeff' id='W5M0MpCehiHzreSzNTczkc9d'?>\n<!-- kept by the archive -->\n`,
      `\n${' '.repeat(200)}\n<?xpacket end='w'?>`,
      '<!-- a note -->\n   <arch:note xml:lang="de"><![CDATA[a <b> & c]]></arch:note>\n',
      '<d:title><rdf:Alt><rdf:li xml:lang="x-default">Portrait  day\u00a0\u{1f4f7}</rdf:li></rdf:Alt></d:title>',
      'arch:shelf="4 &lt; 5 &amp; &quot;6&quot;"',
    ]) {
      expect(text).toContain(kept);
    }
    // One packet is about one thing: our description names it as the others do.
    const abouts = Array.from(parse(text).getElementsByTagNameNS(RDF, 'Description')).map((d) =>
      d.getAttributeNS(RDF, 'about'),
    );
    expect(abouts).toEqual(['uuid:77', 'uuid:77']);
  });

  it('merging again changes nothing, and another verdict replaces only what was ours', () => {
    const once = merge(FOREIGN);
    expect(merge(once)).toBe(once);
    const later = merge(once, fine);
    expect(keywords(later)).toEqual(['hall', 'makers & menders', 'stopledger: consistent']);
    expect(own(later, 'verdict')).toEqual(['consistent']);
    expect(regionIds(later)).toEqual([]);
    expect(merge(newSidecar(content), fine)).toBe(newSidecar(fine));
  });

  it('keeps others’ regions, and takes ours away however another program wrote them', () => {
    const theirs = `<rdf:RDF xmlns:rdf="${RDF}"><rdf:Description rdf:about="" xmlns:i="${IPTC}" xmlns:s="${OURS}" s:verdict="check" s:fromSetupStops="3">
      <i:ImageRegion><rdf:Bag>
        <rdf:li><rdf:Description i:rId="stopledger-face-1"><i:Name/></rdf:Description></rdf:li>
        <rdf:li rdf:parseType="Resource"><i:rId>stopledger-lower-body-1</i:rId></rdf:li>
        <rdf:li rdf:parseType="Resource"><i:rId>crop-7</i:rId></rdf:li>
        <rdf:li i:rId="stopledger-face-2"/>
      </rdf:Bag></i:ImageRegion></rdf:Description></rdf:RDF>`;
    const text = merge(theirs);
    expect(regionIds(text)).toEqual(['crop-7', 'stopledger-face-1', 'stopledger-lower-body-1']);
    expect(text).not.toMatch(/s:verdict|s:fromSetupStops|stopledger-face-2/);
    expect(own(text, 'fromSetupStops')).toEqual(['-1.25']);
  });

  it('keeps a byte-order mark and works without the outer element and without any description', () => {
    const text = merge(`\ufeff<rdf:RDF xmlns:rdf="${RDF}"/>`);
    expect(text.startsWith('\ufeff<rdf:RDF')).toBe(true);
    expect(own(text, 'verdict')).toEqual(['off']);
  });

  it.each([
    ['', 'not well-formed'],
    ['Portrait day', 'not well-formed'],
    [FOREIGN.replace('</rdf:RDF>', ''), 'not well-formed'],
    [FOREIGN.replace('xmlns:arch="https://archive.example/1/"', ''), 'not well-formed'],
    [FOREIGN.replace('arch:shelf=', 'arch:shelf=""  arch:shelf='), 'not well-formed'],
    [FOREIGN.replace('hall', '&hall;'), 'not well-formed'],
    ['<html/>', 'rdf:RDF'],
    [`<x:xmpmeta xmlns:x="adobe:ns:meta/"/>`, 'rdf:RDF'],
    [`<!DOCTYPE x [<!ENTITY a "aaaa">]><rdf:RDF xmlns:rdf="${RDF}"/>`, 'document type'],
    [`<?xml version="1.0" encoding="ISO-8859-1"?><rdf:RDF xmlns:rdf="${RDF}"/>`, 'ISO-8859-1'],
    [FOREIGN.replace(/<d:subject>.*<\/d:subject>/, '<d:subject>hall</d:subject>'), 'no array'],
    [FOREIGN.replace('<d:title>', '<d:subject><rdf:Bag/></d:subject><d:title>'), 'more than once'],
    [FOREIGN.replace('arch:shelf', 'd:subject'), 'as an attribute'],
  ])('is refused, and why is told: %.60s', (text, why) => {
    expect(() => merge(text)).toThrowError(expect.objectContaining({ code: 'sidecar-refused', message: expect.stringContaining(why) as string })); // prettier-ignore
  });

  it('is refused when it is not UTF-8, or larger than any sidecar', () => {
    expect(() => mergedSidecar(Buffer.from(FOREIGN, 'utf16le'), content)).toThrow(/well-formed|UTF-8/);
    expect(() => mergedSidecar(Buffer.from([0xff, 0xfe, 0x3c, 0]), content)).toThrow('not UTF-8');
    expect(() => mergedSidecar(Buffer.alloc(9 * 1024 * 1024, 32), content)).toThrow('bytes');
  });
});
