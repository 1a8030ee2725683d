import { DOMParser, XMLSerializer, type Document, type Element } from '@xmldom/xmldom';
import { StopledgerError } from '../errors.js';
import { VERSION } from '../version.js';
import { OWN_KEYWORD, type SidecarContent } from './sidecar-content.js';
import { OWN_REGION_ID } from './sidecar-regions.js';
import { NS, XmpWriter, type XmpValue } from './sidecar-xml.js';

/** No sidecar of an honest program is larger; what is would be held in memory several times over. */
const LARGEST_BYTES = 4 * 1024 * 1024;

/** An empty packet (ISO 16684-1, clause 7), the byte-order mark in its header. */
const EMPTY = `<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="${NS.x}" x:xmptk="stopledger ${VERSION}">
  <rdf:RDF xmlns:rdf="${NS.rdf}">
  </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>
`;

/** A whole sidecar of its own. */
export function newSidecar(content: SidecarContent): string {
  return merged(EMPTY, content);
}

/**
 * A sidecar that is there already, with what we say of the frame put in and what an earlier run said taken out. All
 * other properties, keywords and regions stay; so do comments and everything around the root element.
 *
 * @param existing the file's bytes: UTF-8, with or without a byte-order mark
 * @throws StopledgerError `sidecar-refused` when it is no well-formed XMP, or holds keywords or regions in a form that
 *   XMP does not know
 */
export function mergedSidecar(existing: Uint8Array, content: SidecarContent): string {
  if (existing.byteLength > LARGEST_BYTES) {
    throw refusal(`it has ${existing.byteLength} bytes; at most ${LARGEST_BYTES} are taken`);
  }
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(existing);
  } catch {
    throw refusal('it is not UTF-8');
  }
  return merged(text, content);
}

const refusal = (reason: string): StopledgerError =>
  new StopledgerError('sidecar-refused', `the sidecar that is there is left as it is: ${reason}`);

function merged(text: string, content: SidecarContent): string {
  const bom = text.startsWith('\ufeff') ? '\ufeff' : '';
  const source = text.slice(bom.length);
  const document = parsed(source);
  const rdf = rdfOf(document);
  const descriptions = childElements(rdf).filter((element) => isNamed(element, NS.rdf, 'Description'));
  for (const description of descriptions) removeOwnProperties(description);

  const writer = new XmpWriter(document);
  const about = descriptions.find((d) => d.hasAttributeNS(NS.rdf, 'about'))?.getAttributeNS(NS.rdf, 'about') ?? '';
  const ours = writer.description(about);
  putInArray(writer, descriptions, ours, {
    prefix: 'dc',
    name: 'subject',
    items: content.keywords,
    isOwn: (item) => (item.textContent ?? '').startsWith(OWN_KEYWORD),
  });
  for (const property of content.properties) writer.appendField(ours, property, 3);
  putInArray(writer, descriptions, ours, {
    prefix: 'Iptc4xmpExt',
    name: 'ImageRegion',
    items: content.regions,
    isOwn: (item) => regionId(item).startsWith(OWN_REGION_ID),
  });
  for (const description of descriptions) removeIfBare(description);
  writer.appendOnLine(rdf, ours, 2);
  return bom + withOriginalSurroundings(source, document);
}

function parsed(source: string): Document {
  let document: Document;
  let remark = '';
  try {
    const parser = new DOMParser({
      locator: true,
      // Anything that the parser remarks on is a fault, but for U+FFFD, which is a character like any other.
      onError(level, message) {
        if (level === 'warning' && message.startsWith('Unicode replacement character')) return;
        remark = message.split('\n')[0] ?? '';
        throw new Error(remark);
      },
    });
    document = parser.parseFromString(source, 'text/xml');
  } catch (error) {
    throw refusal(`it is not well-formed XML (${remark === '' ? String(error) : remark})`);
  }
  if (document.doctype !== null) throw refusal('it has a document type declaration, which XMP does not have');
  const declared = /^<\?xml\s[^>]*?encoding\s*=\s*["']([^"']+)["']/.exec(source)?.[1];
  if (declared !== undefined && !/^utf-?8$/i.test(declared)) throw refusal(`it says that it is ${declared}`);
  return document;
}

/** rdf:RDF, by itself or alone in x:xmpmeta (ISO 16684-1, 7.3.3). */
function rdfOf(document: Document): Element {
  const root = document.documentElement;
  if (root !== null && isNamed(root, NS.rdf, 'RDF')) return root;
  const inside = root === null || root.namespaceURI !== NS.x ? [] : childElements(root).filter((e) => isNamed(e, NS.rdf, 'RDF')); // prettier-ignore
  const only = inside[0];
  if (inside.length === 1 && only !== undefined) return only;
  throw refusal(`its root is ${root?.tagName ?? 'missing'} with ${inside.length} rdf:RDF in it; one was expected`);
}

const isNamed = (element: Element, namespace: string, name: string): boolean =>
  element.namespaceURI === namespace && element.localName === name;

function childElements(parent: Element): Element[] {
  return Array.from(parent.childNodes).filter((node): node is Element => node.nodeType === node.ELEMENT_NODE);
}

/** Takes an element out with the white space that indented it. */
function removeWithIndent(element: Element): void {
  const before = element.previousSibling;
  if (before !== null && before.nodeType === before.TEXT_NODE && (before.nodeValue ?? '').trim() === '') {
    before.parentNode?.removeChild(before);
  }
  element.parentNode?.removeChild(element);
}

function removeOwnProperties(description: Element): void {
  for (const element of childElements(description)) {
    if (element.namespaceURI === NS.stopledger) removeWithIndent(element);
  }
  for (const attribute of Array.from(description.attributes)) {
    if (attribute.namespaceURI === NS.stopledger) description.removeAttributeNode(attribute);
  }
}

interface SharedArray {
  prefix: 'dc' | 'Iptc4xmpExt';
  name: string;
  items: readonly XmpValue[];
  isOwn: (item: Element) => boolean;
}

/**
 * An array that we share with others: our earlier items go, the new ones come at its end. A property may stand only
 * once in a packet, so one that is there is used wherever it stands; a new one goes into our description.
 */
function putInArray(
  writer: XmpWriter,
  descriptions: readonly Element[],
  ours: Element,
  { prefix, name, items, isOwn }: SharedArray,
): void {
  const there = descriptions.flatMap((d) => childElements(d).filter((e) => isNamed(e, NS[prefix], name)));
  if (there.length > 1 || descriptions.some((d) => d.hasAttributeNS(NS[prefix], name))) {
    throw refusal(`${prefix}:${name} stands there ${there.length > 1 ? 'more than once' : 'as an attribute'}`);
  }
  const property = there[0];
  const array = property === undefined ? null : arrayOf(property);
  for (const item of array === null ? [] : childElements(array)) if (isOwn(item)) removeWithIndent(item);
  if (property !== undefined && array !== null) {
    if (childElements(array).length > 0) {
      for (const item of items) writer.appendItem(array, item, 5);
      return;
    }
    removeWithIndent(property);
  }
  if (items.length > 0) writer.appendField(ours, { prefix, name, value: { kind: 'bag', items } }, 3);
}

function arrayOf(property: Element): Element {
  const [array, ...others] = childElements(property);
  const isArray = array !== undefined && ['Bag', 'Seq', 'Alt'].some((kind) => isNamed(array, NS.rdf, kind));
  if (!isArray || others.length > 0) throw refusal(`${property.tagName} is no array`);
  return array;
}

/** The id of an item of Iptc4xmpExt:ImageRegion, written as element or as attribute, with or without rdf:Description. */
function regionId(item: Element): string {
  for (const holder of [item, ...childElements(item).filter((e) => isNamed(e, NS.rdf, 'Description'))]) {
    const attribute = holder.getAttributeNS(NS.Iptc4xmpExt, 'rId');
    if (attribute !== null && attribute !== '') return attribute;
    const element = childElements(holder).find((e) => isNamed(e, NS.Iptc4xmpExt, 'rId'));
    if (element !== undefined) return (element.textContent ?? '').trim();
  }
  return '';
}

/** A description that held only what was ours goes, too: one of another program keeps at least a comment or a property. */
function removeIfBare(description: Element): void {
  const namesAProperty = Array.from(description.attributes).some(
    ({ namespaceURI, prefix, name }) => namespaceURI !== NS.rdf && prefix !== 'xmlns' && name !== 'xmlns',
  );
  const declaresUs = Array.from(description.attributes).some(({ value }) => value === NS.stopledger);
  const holds = Array.from(description.childNodes).some(
    (node) => node.nodeType !== node.TEXT_NODE || (node.nodeValue ?? '').trim() !== '',
  );
  if (declaresUs && !namesAProperty && !holds) removeWithIndent(description);
}

/**
 * The root element written anew, with everything before and after it (packet header and trailer, padding, comments,
 * declarations) byte for byte as it was. The parser keeps no white space outside of the root element.
 */
function withOriginalSurroundings(source: string, document: Document): string {
  const root = document.documentElement;
  const serializer = new XMLSerializer();
  if (root === null) throw refusal('it has no root element');
  const start = offsetOf(source, root.lineNumber ?? 0, root.columnNumber ?? 0);
  const endTag = source.lastIndexOf(`</${root.tagName}`);
  const end = source.indexOf('>', endTag) + 1;
  const exact = source.startsWith(`<${root.tagName}`, start) && endTag > start && !/<!--/.test(source.slice(end));
  if (!exact) return serializer.serializeToString(document);
  return source.slice(0, start) + serializer.serializeToString(root) + source.slice(end);
}

/** Offset of a line and column as the parser counts them, both from 1; it takes CR LF and CR as one line end. */
function offsetOf(source: string, line: number, column: number): number {
  const lineEnds = /\r\n?|\n/g;
  for (let n = 1; n < line; n += 1) if (lineEnds.exec(source) === null) return -1;
  return lineEnds.lastIndex + column - 1;
}
