import type { Document, Element } from '@xmldom/xmldom';

/** XML namespaces of a sidecar: XMP's own (ISO 16684-1), Dublin Core, IPTC Extension, and ours. */
export const NS = {
  rdf: 'http://www.w3.org/1999/02/22-rdf-syntax-ns#',
  x: 'adobe:ns:meta/',
  xmp: 'http://ns.adobe.com/xap/1.0/',
  dc: 'http://purl.org/dc/elements/1.1/',
  Iptc4xmpExt: 'http://iptc.org/std/Iptc4xmpExt/2008-02-29/',
  stopledger: 'https://stopledger.example/ns/1.0/',
} as const;
const XML_NS = 'http://www.w3.org/XML/1998/namespace';
const XMLNS_NS = 'http://www.w3.org/2000/xmlns/';

export type Prefix = keyof typeof NS;

/** A value of the XMP data model (ISO 16684-1, clause 6): text, array, language alternative or structure. */
export type XmpValue =
  | string
  | { kind: 'bag' | 'seq'; items: readonly XmpValue[] }
  | { kind: 'words'; text: string }
  | { kind: 'structure'; fields: readonly XmpField[] };

export interface XmpField {
  prefix: Prefix;
  name: string;
  value: XmpValue;
}

/** Everything but the characters that XML 1.0 allows (production 2, "Char"): controls, halves of characters, U+FFFE, U+FFFF. */
const NO_XML_CHARACTER = /[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu;

/** Text that an XML 1.0 document can hold: what it cannot becomes U+FFFD, so that nothing vanishes silently. */
export const xmlText = (text: string): string => text.replace(NO_XML_CHARACTER, '\ufffd');

/** A number as XMP's Real: a point, at most four decimals, never an exponent. */
export const xmpReal = (value: number): string => String(Number(value.toFixed(4)));

const INDENT = '  ';

export class XmpWriter {
  readonly #document: Document;

  constructor(document: Document) {
    this.#document = document;
  }

  element(prefix: Prefix, name: string): Element {
    return this.#document.createElementNS(NS[prefix], `${prefix}:${name}`);
  }

  /** Appends the field as a property element, on lines of its own. */
  appendField(parent: Element, { prefix, name, value }: XmpField, depth: number): void {
    const element = this.element(prefix, name);
    this.fill(element, value, depth);
    this.appendOnLine(parent, element, depth);
  }

  /** Puts `child` last in `parent`, before the white space that indents the parent's end tag. */
  appendOnLine(parent: Element, child: Element, depth: number): void {
    const last = parent.lastChild;
    if (last !== null && last.nodeType === last.TEXT_NODE && (last.nodeValue ?? '').trim() === '') {
      parent.removeChild(last);
    }
    parent.appendChild(this.#document.createTextNode(`\n${INDENT.repeat(depth)}`));
    parent.appendChild(child);
    parent.appendChild(this.#document.createTextNode(`\n${INDENT.repeat(Math.max(0, depth - 1))}`));
  }

  /** Gives an element (a property or an array item) its value. */
  fill(element: Element, value: XmpValue, depth: number): void {
    if (typeof value === 'string') {
      element.appendChild(this.#document.createTextNode(xmlText(value)));
      return;
    }
    switch (value.kind) {
      case 'structure':
        element.setAttributeNS(NS.rdf, 'rdf:parseType', 'Resource');
        for (const field of value.fields) this.appendField(element, field, depth + 1);
        return;
      case 'words': {
        const item = this.element('rdf', 'li');
        item.setAttributeNS(XML_NS, 'xml:lang', 'x-default');
        this.fill(item, value.text, depth + 2);
        const alternatives = this.element('rdf', 'Alt');
        this.appendOnLine(alternatives, item, depth + 2);
        this.appendOnLine(element, alternatives, depth + 1);
        return;
      }
      default: {
        const array = this.element('rdf', value.kind === 'bag' ? 'Bag' : 'Seq');
        for (const item of value.items) this.appendItem(array, item, depth + 2);
        this.appendOnLine(element, array, depth + 1);
      }
    }
  }

  appendItem(array: Element, value: XmpValue, depth: number): void {
    const item = this.element('rdf', 'li');
    this.fill(item, value, depth);
    this.appendOnLine(array, item, depth);
  }

  /** An rdf:Description that declares our prefixes, so that what is put into it needs no declarations of its own. */
  description(about: string): Element {
    const description = this.element('rdf', 'Description');
    for (const prefix of ['xmp', 'dc', 'Iptc4xmpExt', 'stopledger'] as const) {
      description.setAttributeNS(XMLNS_NS, `xmlns:${prefix}`, NS[prefix]);
    }
    description.setAttributeNS(NS.rdf, 'rdf:about', about);
    return description;
  }
}
