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
.answer { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1.25fr); gap: 1.5rem 3rem; margin: 1.5rem 0 1rem; align-items: start; }
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
.facts td { padding: .18rem 0; text-align: right; font-variant-numeric: tabular-nums; overflow-wrap: anywhere; }
.facts tr + tr { border-top: 1px solid var(--hair); }
.facts caption { text-align: left; font-weight: 600; padding: .4rem 0 .1rem; }
.unit { color: var(--soft); }
.filters { display: flex; flex-wrap: wrap; gap: .5rem 1.25rem; align-items: end; margin: 0 0 1rem; }
.filters label { display: grid; font-size: .85rem; color: var(--soft); }
select { font-size: 1rem; padding: .3rem .5rem; background: var(--sheet); color: var(--ink); border: 1px solid var(--line); max-width: 100%; }
.sheet { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(13.5rem, 100%), 1fr)); gap: 1rem; list-style: none; padding: 0; margin: 0; }
.frame { background: var(--sheet); border: 1px solid var(--hair); border-top: 3px solid var(--consistent); padding: .6rem .7rem .7rem; scroll-margin-top: 1rem; min-width: 0; }
.frame[hidden] { display: none; }
.frame:target { outline: 3px solid var(--check); outline-offset: 2px; }
.frame.v-check { border-top: 3px dashed var(--check); }
.frame.v-off { border-top: 6px solid var(--off); }
.frame.v-unreadable { border-top: 4px dotted var(--ink); }
.frame.is-open { grid-column: 1 / -1; }
.frame.is-open .has-overlay { display: none; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.frame h3 { font-size: .92rem; margin: .4rem 0 .1rem; }
.frame .picture { display: block; background: var(--span); height: 14rem; width: 100%; object-fit: contain; }
.frame .none { display: grid; place-items: center; color: var(--soft); font-size: .85rem; }
.line { display: flex; justify-content: space-between; max-width: none; gap: .5rem; align-items: baseline; font-size: .92rem; }
.verdict { font-weight: 600; }
.v-consistent .verdict { color: var(--consistent); } .v-check .verdict { color: var(--check); } .v-off .verdict { color: var(--off); }
.number { font-variant-numeric: tabular-nums; }
.because { font-size: .88rem; line-height: 1.4; margin: .35rem 0 0; padding: 0; list-style: none; }
.because strong { display: inline-block; }
.because strong::first-letter { text-transform: uppercase; }
.because li { max-width: 46rem; margin: 0 0 .3rem; overflow-wrap: anywhere; }
details > summary { width: fit-content; cursor: pointer; font-size: .85rem; color: var(--link); padding: .25rem 0; }
.opened { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(18rem, 100%), 1fr)); gap: 1rem 2rem; align-items: start; }
.opened img { max-width: 100%; max-height: 42rem; height: auto; display: block; }
.opened svg { max-width: 100%; height: auto; color: var(--soft); }
.opened figure { margin: 0; }
.method p, .method li { max-width: 46rem; }
body > footer { color: var(--soft); font-size: .85rem; padding-top: 2rem; padding-bottom: 3rem; }
@media print {
  :root { --paper: #fff; --sheet: #fff; --ink: #000; --soft: #444; --span: #f3f3f3; --band: #e3e6e8; }
  nav, .filters, .skip { display: none; }
  .frame, .card { break-inside: avoid; }
  .strip-row svg { min-width: 0; }
}
`;

/** Filters the contact sheet and opens the frame that the address names. The page reads whole without it. */
export const REPORT_SCRIPT = `
(() => {
  const frames = [...document.querySelectorAll('.frame')];
  const form = document.querySelector('.filters');
  const told = document.querySelector('#shown');
  const apply = () => {
    const want = new FormData(form);
    let shown = 0;
    for (const frame of frames) {
      const fits = (!want.get('setup') || frame.dataset.setup === want.get('setup')) &&
        (!want.get('verdict') || frame.dataset.verdict === want.get('verdict')) &&
        (!want.get('flag') || frame.dataset.flags.split(' ').includes(want.get('flag')));
      frame.hidden = !fits;
      if (fits) shown += 1;
    }
    told.textContent = shown + ' of ' + frames.length + ' frames shown';
  };
  form.hidden = false;
  form.addEventListener('change', apply);
  document.addEventListener('toggle', (event) => {
    const frame = event.target.closest('.frame');
    if (frame) frame.classList.toggle('is-open', event.target.open);
  }, true);
  const go = () => {
    const frame = location.hash.startsWith('#frame-') && document.getElementById(location.hash.slice(1));
    if (!frame) return;
    if (frame.hidden) { form.reset(); apply(); }
    const details = frame.querySelector('details');
    if (details) { details.open = true; frame.classList.add('is-open'); }
    requestAnimationFrame(() => { frame.scrollIntoView(); frame.querySelector('summary')?.focus({ preventScroll: true }); });
  };
  addEventListener('hashchange', go);
  document.addEventListener('click', (event) => {
    const link = event.target.closest && event.target.closest('a');
    if (link && link.hash === location.hash && link.hash) go();
  });
  apply();
  go();
})();
`;
