import * as Plot from '@observablehq/plot';
import { parseHTML } from 'linkedom';
import { SafeHtml } from './safe.js';

const { document: plotDocument } = parseHTML('<!doctype html><html><body></body></html>');

/** Draws on the server to SVG text. `label` becomes the accessible name; ids and classes stay local to the figure. */
export function drawSvg(label: string, options: Plot.PlotOptions): SafeHtml {
  const svg = Plot.plot({ ...options, document: plotDocument }) as unknown as {
    setAttribute(name: string, value: string): void;
    toString(): string;
  };
  svg.setAttribute('role', 'group');
  svg.setAttribute('aria-label', label);
  // A name on a group without a role is not allowed (WAI-ARIA 1.2, 5.2.8.6); the marks' kinds stay as data.
  return new SafeHtml(svg.toString().replaceAll(/(<g\b[^>]*?) aria-label=/g, '$1 data-mark='));
}

export { Plot };
