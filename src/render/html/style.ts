/** Style of the report page. Warm paper and ink; slate, ochre and plum tell verdicts, always beside a shape and a word. */
export const REPORT_STYLE = `
:root {
  color-scheme: light dark;
  --paper: #faf8f3; --sheet: #ffffff; --ink: #22252c; --soft: #5a5f6b; --line: #b9b6ad; --hair: #e2dfd6;
  --span: #f0ede4; --band: #d8e2e4; --consistent: #40596b; --check: #8a5a00; --off: #7d2a68; --link: #2f5368;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #17191e; --sheet: #1f2229; --ink: #ebe7de; --soft: #b0adb3; --line: #5d6069; --hair: #33363f;
    --span: #1e2128; --band: #2b3a42; --consistent: #9db6c6; --check: #e7b95f; --off: #e79fd3; --link: #a9cbe0;
  }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 16px/1.5 ui-serif, Charter, "Bitstream Charter", "Sitka Text", Cambria, Georgia, serif; }
body > header, main, body > footer { max-width: 78rem; margin: 0 auto; padding: 0 1.25rem; }
body > header { padding-top: 1.5rem; }
h1, h2, h3, h4, th, .number, .verdict, .key, nav, label, select, button, summary, figcaption, .facts, svg { font-family: ui-sans-serif, "Seravek", "Gill Sans Nova", Ubuntu, Calibri, "DejaVu Sans", source-sans-pro, sans-serif; }
h1 { font-size: 1.05rem; font-weight: 600; margin: 0; color: var(--soft); overflow-wrap: anywhere; }
h2 { font-size: 1.35rem; margin: 2.75rem 0 .75rem; line-height: 1.25; }
h3 { font-size: 1.02rem; margin: 0 0 .35rem; overflow-wrap: anywhere; }
h4 { font-size: .9rem; margin: 1rem 0 .25rem; }
p { margin: .4rem 0; max-width: 46rem; }
a { color: var(--link); }
:focus-visible { outline: 3px solid var(--check); outline-offset: 2px; }
.skip { position: absolute; left: -99rem; }
.skip:focus { left: 1rem; top: .5rem; background: var(--sheet); padding: .4rem .8rem; z-index: 2; }
nav ul { list-style: none; display: flex; flex-wrap: wrap; gap: .25rem 1.25rem; padding: 0; margin: .5rem 0 0; font-size: .9rem; }
.answer { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1.25fr); gap: 1.5rem 3rem; margin: 1.5rem 0 0; align-items: start; }
@media (max-width: 56rem) { .answer { grid-template-columns: minmax(0, 1fr); } }
.answer h2 { font-size: 1.05rem; margin: 0 0 .5rem; }
.big { font: 600 clamp(1.7rem, 4.5vw, 2.6rem)/1.15 ui-serif, Charter, "Bitstream Charter", "Sitka Text", Cambria, Georgia, serif; margin: 0 0 .75rem; }
.share-bar { display: flex; height: 1.1rem; gap: 2px; margin: 0 0 .5rem; }
.share-bar span { min-width: 4px; }
.p-consistent { background: var(--consistent); }
.p-check { background: repeating-linear-gradient(135deg, var(--check) 0 3px, transparent 3px 6px); border: 1px solid var(--check); }
.p-off { background: var(--off); }
.p-unreadable { border: 2px dotted var(--ink); }
.tally { display: flex; flex-wrap: wrap; gap: .25rem 1.25rem; padding: 0; margin: 0; list-style: none; font-size: .95rem; }
.fix { padding-left: 1.4rem; margin: 0; }
.fix li { margin: 0 0 .6rem; padding-left: .25rem; max-width: 44rem; }
.fix li::marker { font-weight: 700; color: var(--off); }
.strip-figure { margin: .5rem 0 0; }
.strip-scroll { overflow-x: auto; }
.strip-row svg { min-width: 44rem; width: 100%; height: auto; color: var(--soft); font-size: 12px; }
.strip-row svg a:hover path, .strip-row svg a:focus path { stroke: var(--ink); stroke-width: 3px; }
.told { display: flex; gap: .75rem; align-items: center; min-height: 4.5rem; margin: .25rem 0 0; max-width: none; font-size: .95rem; }
.told[hidden] { display: none; }
.told img { width: 4.5rem; height: 4.5rem; object-fit: contain; background: var(--span); flex: none; }
figcaption { font-size: .85rem; color: var(--soft); margin-top: .25rem; }
.keys { display: block; }
.key { white-space: nowrap; margin-right: .9rem; display: inline-block; }
@media (max-width: 56rem) { .key { display: block; margin-right: 0; white-space: normal; } }
.key i { display: inline-block; width: .7em; height: .7em; font-style: normal; line-height: .7em; }
.k-consistent { background: var(--consistent); border-radius: 50%; }
.k-check { border: 2px solid var(--check); }
.k-off { background: var(--off); transform: rotate(45deg) scale(.85); }
.cards { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(21rem, 100%), 1fr)); gap: 1rem; }
.card { background: var(--sheet); border: 1px solid var(--hair); padding: 1rem 1.1rem; }
.card > p:first-of-type { margin-top: 0; }
.facts { width: 100%; border-collapse: collapse; font-size: .88rem; margin: .4rem 0; }
.facts th { text-align: left; font-weight: 400; color: var(--soft); padding: .18rem .75rem .18rem 0; vertical-align: top; }
.facts td { padding: .18rem 0; text-align: right; vertical-align: top; font-variant-numeric: tabular-nums; overflow-wrap: anywhere; }
.facts .short-value { white-space: nowrap; }
.facts tr + tr { border-top: 1px solid var(--hair); }
.facts caption { text-align: left; font-weight: 600; padding: .4rem 0 .1rem; }
.unit { color: var(--soft); }
.filters { display: flex; flex-wrap: wrap; gap: .5rem 1.25rem; align-items: end; margin: 0 0 1rem; }
.filters label { display: grid; font-size: .85rem; color: var(--soft); }
select, button { font-size: 1rem; padding: .3rem .5rem; background: var(--sheet); color: var(--ink); border: 1px solid var(--line); max-width: 100%; }
button { cursor: pointer; }
#shown { padding: .35rem 0; }
.hint { color: var(--soft); margin: 0 0 1rem; }
.sheet { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(13.5rem, 100%), 1fr)); gap: 1rem; list-style: none; padding: 0; margin: 0; }
/* Thousands of frames: what is out of view is not laid out, and no list item is numbered, which is quadratic in Chromium. */
.frame { display: block; content-visibility: auto; contain-intrinsic-size: auto 21rem; background: var(--sheet); border: 1px solid var(--hair); border-top: 3px solid var(--consistent); padding: .6rem .7rem .7rem; scroll-margin-top: 1rem; min-width: 0; }
.frame[hidden] { display: none; }
.frame:target { outline: 2px solid var(--line); outline-offset: 2px; }
.frame.v-check { border-top: 3px dashed var(--check); }
.frame.v-off { border-top: 6px solid var(--off); }
.frame.v-unreadable { border-top: 4px dotted var(--ink); }
.frame.is-open { grid-column: 1 / -1; }
.frame.is-open .has-overlay, .frame.is-open .short { display: none; }
.frame.is-open .line { justify-content: start; gap: 1.5rem; }
img.picture { cursor: pointer; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.frame h3 { font-size: .92rem; margin: .4rem 0 .1rem; }
.frame .picture { display: block; background: var(--span); height: 14rem; width: 100%; object-fit: contain; }
.frame .none { display: grid; place-items: center; color: var(--soft); font-size: .85rem; }
.line { display: flex; justify-content: space-between; max-width: none; gap: .5rem; align-items: baseline; font-size: .92rem; }
.verdict { font-weight: 600; white-space: nowrap; }
.v-consistent .verdict { color: var(--consistent); } .v-check .verdict { color: var(--check); } .v-off .verdict { color: var(--off); }
.number { font-variant-numeric: tabular-nums; }
.because { font-size: .88rem; line-height: 1.4; margin: .35rem 0 0; padding: 0; list-style: none; }
.also { font-size: .88rem; line-height: 1.4; color: var(--soft); margin: 0 0 .3rem; overflow-wrap: anywhere; }
.because li { max-width: 46rem; margin: 0 0 .3rem; overflow-wrap: anywhere; }
.when-open, [open] .when-shut { display: none; }
[open] .when-open { display: inline; }
details > summary { width: fit-content; cursor: pointer; font-size: .85rem; color: var(--link); padding: .25rem 0; }
.opened { display: grid; grid-template-columns: minmax(0, 24rem) minmax(0, 1fr); gap: 1rem 2rem; align-items: start; }
.opened > .advice:first-child, .opened > .numbers { grid-column: 1 / -1; }
@media (max-width: 56rem) { .opened { grid-template-columns: minmax(0, 1fr); } }
.advice > h4:first-child, .advice > div:first-child > h4 { margin-top: 0; }
.opened .advice > * + figure { margin-top: 1rem; }
.advice ol { font-size: .88rem; line-height: 1.4; margin: .35rem 0 0; padding-left: 1.2rem; max-width: 46rem; }
.before-after img { width: 44rem; }
.numbers { columns: 3 18rem; column-gap: 2rem; }
.numbers > * { break-inside: avoid; padding-bottom: .75rem; }
.opened img { max-width: 100%; max-height: 42rem; height: auto; display: block; }
.opened svg, .card svg { max-width: 100%; height: auto; color: var(--soft); }
.card figure { margin: 1rem 0 0; }
.opened figure { margin: 0; }
.method p, .method li { max-width: 46rem; }
.method h3 { margin-top: 1.4rem; }
.method ul { padding-left: 1.3rem; margin: .4rem 0; }
.method li { margin: 0 0 .3rem; }
body > footer { color: var(--soft); font-size: .85rem; padding-top: 2rem; padding-bottom: 3rem; }
@page { margin: 12mm 10mm; }
@media print {
  :root { --paper: #fff; --sheet: #fff; --ink: #000; --soft: #444; --span: #f3f3f3; --band: #d5dcdf; --consistent: #40596b; --check: #8a5a00; --off: #7d2a68; --line: #999; --hair: #ccc; --link: #000; }
  html { font-size: 10px; }
  body { font-size: 10px; }
  /* A border that ends with the page's own edge is cut off. */
  body > header, main, body > footer { max-width: none; padding: 0 1px; }
  nav, .filters, .skip, .told, .hint, summary { display: none; }
  /* Backgrounds that say something; the rest is left out on paper, unless the reader asks for it. */
  .share-bar span, .key i { print-color-adjust: exact; }
  h2 { margin-top: 1.75rem; break-after: avoid; }
  a { text-decoration: none; }
  .answer { grid-template-columns: minmax(0, 1fr) minmax(0, 1.25fr); }
  .frame, .card, .strip-row, .opened figure { break-inside: avoid; }
  .frame { content-visibility: visible; }
  .strip-scroll { overflow: visible; }
  .strip-row svg { min-width: 0; }
  .key { display: inline-block; }
  /* Words, numbers and plot beside each other: low cards fill pages that high ones leave half empty. */
  .cards { display: block; }
  .card { columns: 3; column-gap: 1.5rem; margin: 0 0 .75rem; }
  .card h3 { column-span: all; }
  .card h4 { break-after: avoid; }
  .card > p, .card li, .card .facts, .card figure { break-inside: avoid; }
  .card .facts, .card figure { margin: 0 0 .4rem; }
  .sheet { grid-template-columns: repeat(5, minmax(0, 1fr)); gap: .75rem; }
  .frame .picture { height: 11rem; }
  .opened { grid-template-columns: minmax(0, 18rem) minmax(0, 1fr); }
  .numbers { columns: 3; }
}
`;
