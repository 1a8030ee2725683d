/**
 * Filters the contact sheet, opens the frame that the address names, leads along the strip by arrow keys, and closes
 * by Escape. The page reads whole without it. Nothing here touches more than it shows: shoots have thousands of frames.
 */
export const REPORT_SCRIPT = `
(() => {
  const frames = [...document.querySelectorAll('.frame')];
  const form = document.querySelector('.filters');
  const shown = document.querySelector('#shown');
  const apply = () => {
    const want = new FormData(form);
    let count = 0;
    for (const frame of frames) {
      const fits = (!want.get('setup') || frame.dataset.setup === want.get('setup')) &&
        (!want.get('verdict') || frame.dataset.verdict === want.get('verdict')) &&
        (!want.get('flag') || frame.dataset.flags.split(' ').includes(want.get('flag')));
      if (frame.hidden === fits) frame.hidden = !fits;
      if (fits) count += 1;
    }
    shown.textContent = count + ' of ' + frames.length + ' frames shown';
  };
  form.hidden = false;
  form.addEventListener('change', apply);
  form.addEventListener('reset', () => setTimeout(apply));

  const setOpen = (frame, open) => {
    frame.querySelector('details').open = open;
    frame.classList.toggle('is-open', open);
  };
  document.addEventListener('toggle', (event) => {
    const frame = event.target.closest('.frame');
    if (frame) frame.classList.toggle('is-open', event.target.open);
  }, true);

  // The link that led to a frame gets the focus back when the frame is closed.
  let cameFrom = null;
  const go = () => {
    const frame = location.hash.startsWith('#frame-') && document.getElementById(location.hash.slice(1));
    if (!frame) return;
    if (frame.hidden) { form.reset(); apply(); }
    setOpen(frame, true);
    requestAnimationFrame(() => { frame.scrollIntoView(); frame.querySelector('summary').focus({ preventScroll: true }); });
  };
  addEventListener('hashchange', go);
  document.addEventListener('click', (event) => {
    if (event.target.matches('img.picture')) {
      const frame = event.target.closest('.frame');
      setOpen(frame, true);
      frame.querySelector('summary').focus({ preventScroll: true });
      return;
    }
    const link = event.target.closest('a[href^="#frame-"]');
    if (!link) return;
    const href = link.getAttribute('href');
    cameFrom = { link, id: href.slice(1) };
    if (href === location.hash) go();
  });
  document.addEventListener('keydown', (event) => {
    if (event.key !== 'Escape') return;
    const frame = event.target.closest('.frame.is-open');
    if (!frame) return;
    setOpen(frame, false);
    const back = cameFrom && cameFrom.id === frame.id ? cameFrom.link : frame.querySelector('summary');
    cameFrom = null;
    back.focus();
  });

  // The strip is one stop of the Tab key; arrow keys go along it in the order of the frames.
  const strip = document.querySelector('.strip-scroll');
  const numberOf = (mark) => Number(mark.getAttribute('href').slice('#frame-'.length));
  const marks = [...strip.querySelectorAll('svg a')].filter((mark) => mark.getAttribute('href').startsWith('#frame-')).sort((a, b) => numberOf(a) - numberOf(b));
  const told = document.querySelector('.told');
  const [thumb, words] = [told.querySelector('img'), told.querySelector('span')];
  told.hidden = marks.length === 0;
  marks.forEach((mark, i) => mark.setAttribute('tabindex', i === 0 ? '0' : '-1'));
  let current = marks[0];
  const tell = (mark) => {
    words.textContent = mark.querySelector('title').textContent;
    const picture = document.querySelector(mark.getAttribute('href') + ' img.picture');
    thumb.hidden = !picture;
    if (picture) thumb.src = picture.src;
  };
  const makeCurrent = (mark) => {
    current.setAttribute('tabindex', '-1');
    mark.setAttribute('tabindex', '0');
    current = mark;
  };
  const markOf = (event) => event.target.closest('svg a[href^="#frame-"]');
  strip.addEventListener('mouseover', (event) => { const mark = markOf(event); if (mark) tell(mark); });
  strip.addEventListener('focusin', (event) => { const mark = markOf(event); if (mark) { makeCurrent(mark); tell(mark); } });
  const steps = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: 10, ArrowUp: -10, Home: -Infinity, End: Infinity };
  strip.addEventListener('keydown', (event) => {
    const mark = markOf(event);
    if (!mark || !(event.key in steps)) return;
    event.preventDefault();
    const to = Math.max(0, Math.min(marks.length - 1, marks.indexOf(mark) + steps[event.key]));
    marks[to].focus();
  });

  // A picture that its server does not give, and one on a page that was saved and has no server.
  document.addEventListener('error', (event) => {
    const figure = event.target.closest && event.target.closest('.before-after');
    if (!figure) return;
    figure.querySelector('figcaption').textContent = 'Before and after is at the service: ' + event.target.getAttribute('src');
    event.target.remove();
  }, true);
  apply();
  go();
})();
`;
