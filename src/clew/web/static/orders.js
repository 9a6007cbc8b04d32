// Orders: a bar dragged to another place asks what that wish costs. The form below does the same.
// the page may now offer dragging, by mouse and by finger
document.documentElement.classList.add('scripted');

const form = () => document.querySelector('[data-wish]');

let newest = 0;

async function price(run, line, place) {
  const mine = ++newest;
  const asked = new URLSearchParams(new FormData(form()));
  asked.set('run', run);
  asked.set('line', line);
  asked.set('place', String(place));
  const wish = document.getElementById('wish');
  wish.classList.add('stale');
  wish.setAttribute('aria-busy', 'true');
  try {
    const answer = await fetch(`/orders?${asked}&part=wish`, { headers: { Accept: 'text/html' } });
    const fresh = new DOMParser().parseFromString(await answer.text(), 'text/html').getElementById('wish');
    if (!fresh || mine !== newest) return;
    const held = wish.contains(document.activeElement);
    wish.replaceWith(document.adoptNode(fresh));
    if (held) fresh.querySelector('button')?.focus();
  } catch {
    // nobody answers: what stands there stays
  } finally {
    if (mine === newest) {
      wish.classList.remove('stale');
      wish.removeAttribute('aria-busy');
    }
  }
}

document.addEventListener('submit', (event) => {
  if (!event.target.matches('[data-wish]')) return;
  event.preventDefault();
  const said = new FormData(event.target);
  price(said.get('run'), said.get('line'), said.get('place'));
});

for (const drawing of document.querySelectorAll('.plan-part > .plan-figure > [data-plan]')) {
  const bars = [...drawing.querySelectorAll('.bar')];
  const lines = [...drawing.querySelectorAll('.line-name')].map((name) => name.textContent);
  const top = Number(drawing.dataset.top);
  const row = Number(drawing.dataset.row);
  let held = null;

  function place(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
    const number = Math.min(Math.max(Math.floor((at.y - top) / row), 0), lines.length - 1);
    const before = bars.filter((bar) => bar !== held.bar && bar.dataset.line === lines[number]
      && Number(bar.dataset.x) + Number(bar.dataset.wide) / 2 < at.x);
    return { x: at.x, y: at.y, line: lines[number], place: before.length + 1 };
  }

  for (const bar of bars) {
    if (bar.classList.contains('frozen')) continue;
    bar.addEventListener('pointerdown', (event) => {
      if (event.button !== 0) return;
      held = { bar, from: event.clientX + event.clientY, moved: false, ghost: null };
      bar.setPointerCapture(event.pointerId);
    });
    bar.addEventListener('pointermove', (event) => {
      if (held?.bar !== bar) return;
      if (!held.moved && Math.abs(event.clientX + event.clientY - held.from) < 6) return;
      held.moved = true;
      bar.classList.add('held');
      const run = bar.querySelector('.run');
      held.ghost ??= drawing.appendChild(Object.assign(run.cloneNode(), {}));
      held.ghost.removeAttribute('fill');
      held.ghost.setAttribute('class', 'ghost');
      const at = place(event);
      held.ghost.setAttribute('x', at.x - Number(bar.dataset.wide) / 2);
      held.ghost.setAttribute('y', at.y - Number(run.getAttribute('height')) / 2);
    });
    bar.addEventListener('pointerup', (event) => {
      if (held?.bar !== bar) return;
      const at = place(event);
      const moved = held.moved;
      drop(bar);
      if (moved) price(bar.dataset.run, at.line, at.place);
    });
    bar.addEventListener('pointercancel', () => drop(bar));
  }

  function drop(bar) {
    held?.ghost?.remove();
    bar.classList.remove('held');
    held = null;
  }
}
