// Charts: the server drew each from its definition, which stands beside the drawing. Once one comes
// into sight its definition is drawn here in its stead, so that it can be read off point by point and
// follows a slider without the server drawing anything. What is never seen is never drawn here; where
// this cannot be done, the server's drawing stays.

const NEAR_PX = 200;
const own = document.querySelector('script[data-draws]');
const views = new WeakMap();
let loading = null;

function means() {
  loading ??= new Promise((done, failed) => {
    const script = document.createElement('script');
    script.src = own.dataset.draws;
    script.type = 'module';
    script.onload = () => (window.vegaEmbed ? done(window.vegaEmbed) : failed(new Error('no means')));
    script.onerror = failed;
    document.head.append(script);
  });
  loading.then(() => { document.documentElement.dataset.draws = 'charts'; }, () => {});
  return loading;
}

const sight = new IntersectionObserver((seen) => {
  for (const one of seen) {
    if (!one.isIntersecting) continue;
    sight.unobserve(one.target);
    draw(one.target);
  }
}, { rootMargin: `${NEAR_PX}px` });

function begin() {
  for (const place of document.querySelectorAll('[data-chart]:not([data-drawn])')) sight.observe(place);
}

async function draw(place) {
  if (place.dataset.drawn || !place.isConnected) return;
  const { definition } = place.dataset;
  const room = document.createElement('div');
  let made;
  try {
    const embed = await means();
    const spec = JSON.parse(definition);
    // widths of words are measured in the letters of the page
    spec.config.font = getComputedStyle(place).fontFamily;
    made = await embed(room, spec, {
      mode: 'vega-lite', renderer: 'svg', actions: false, defaultStyle: false, tooltip: false,
      ast: true, // expressions are walked, never compiled: the pages' policy forbids that
      formatLocale: { decimal: document.documentElement.dataset.decimal, thousands: '', grouping: [3], currency: ['', ''] },
    });
  } catch {
    return; // the server's drawing stays
  }
  const svg = room.querySelector('svg');
  const last = place.querySelector('svg:not(.gone)') ?? place.querySelector('svg');
  if (!svg || !place.isConnected || place.dataset.drawn) { made.finalize(); return; }
  for (const part of svg.querySelectorAll('[role], [aria-label], [aria-roledescription], [aria-hidden]')) {
    for (const name of ['role', 'aria-label', 'aria-roledescription', 'aria-hidden']) part.removeAttribute(name);
  }
  const said = [...place.querySelectorAll('svg > title, svg > desc')].slice(0, 2);
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-labelledby', said.map((one) => one.id).join(' '));
  svg.prepend(...said);
  for (const old of place.querySelectorAll(':scope > svg')) if (old !== last) old.remove();
  last.replaceWith(svg);
  place.dataset.drawn = '1';
  views.set(place, made);
  readOff(place, svg, made, JSON.parse(definition));
}

// ------------------------------------------------------------------ reading a line off
function readOff(place, svg, { view, vgSpec }, spec) {
  const points = (spec.datasets.rows ?? spec.datasets.curve ?? []).filter((row) => Number.isFinite(row.x) && Number.isFinite(row.y));
  if (points.length < 3) return;
  let across;
  try { across = view.scale('x'); } catch { return; }
  if (typeof across.invert !== 'function') return;
  const titles = ['x', 'y'].map((scale) => [vgSpec.axes?.find((axis) => axis.scale === scale && axis.title)?.title ?? scale].flat().join(', '));
  const tip = document.createElement('p');
  tip.className = 'chart-tip';
  tip.setAttribute('aria-hidden', 'true'); // the table under the chart says the same
  tip.hidden = true;
  place.append(tip);
  const number = (value) => String(Number(value.toPrecision(4)));
  svg.addEventListener('pointermove', (event) => {
    const matrix = svg.getScreenCTM();
    if (!matrix) return;
    const at = across.invert(new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse()).x - view.origin()[0]);
    const near = points.reduce((best, one) => (Math.abs(one.x - at) < Math.abs(best.x - at) ? one : best));
    tip.textContent = `${titles[0]} ${number(near.x)}: ${titles[1]} ${number(near.y)}`;
    tip.hidden = false;
    const box = place.getBoundingClientRect();
    tip.style.left = `${Math.min(Math.max(event.clientX - box.left, 0), box.width - tip.offsetWidth)}px`;
    tip.style.top = `${event.clientY - box.top + 18}px`;
  });
  svg.addEventListener('pointerleave', () => { tip.hidden = true; });
}

// What a slider changed: the last drawing stands in until the next is there.
document.addEventListener('clew:part', (event) => {
  const { old, part } = event.detail;
  for (const place of part.querySelectorAll('[data-chart]')) {
    const before = old.querySelector(`[data-chart="${CSS.escape(place.dataset.chart)}"]`);
    if (!before) continue;
    if (before.dataset.drawn && before.dataset.definition === place.dataset.definition) {
      place.replaceWith(before);
      continue;
    }
    const stub = place.querySelector('svg[hidden]');
    const last = before.querySelector('svg:not([hidden])');
    if (stub && last) {
      for (const one of last.querySelectorAll(':scope > title, :scope > desc')) one.remove();
      last.removeAttribute('aria-labelledby');
      last.setAttribute('aria-hidden', 'true');
      stub.before(last);
    }
    views.get(before)?.finalize();
  }
});
document.addEventListener('clew:answer', begin);
// What was not seen is drawn for the paper all the same.
addEventListener('beforeprint', () => { if (document.querySelector('[data-chart] > svg[hidden]')) document.querySelectorAll('[data-chart]').forEach(draw); });
document.addEventListener('input', (event) => { if (document.querySelector('[data-chart]') && event.target.closest('form[data-try], form[data-lots]')) means().catch(() => {}); });
begin();
