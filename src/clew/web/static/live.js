// Inputs answer while they are changed: a slider for each text field, and the parts of the page that
// depend on them fetched again. Without this file the form sends itself and the page says the same.

const form = document.querySelector('form[data-try]');
const choose = document.querySelector('form[data-choose]');

if (choose) {
  choose.addEventListener('change', (event) => {
    // a dye lot of the ball before may be of another yarn: the page then takes one that fits
    if (event.target.name === 'ball') choose.elements.lot.disabled = true;
    choose.requestSubmit();
  });
  choose.querySelector('.go').hidden = true;
}

if (form) {
  // text fields hold numbers with the reader's own decimal mark, sliders with a point
  const { decimal } = document.documentElement.dataset;
  const fields = [...form.querySelectorAll('input[type="text"]')];
  const sliders = new Map(fields.map((field) => [field, addSlider(field)]));
  form.querySelector('.go').hidden = true;
  form.addEventListener('submit', (event) => { event.preventDefault(); ask(); });

  let under = null;
  let again = false;
  let timer = 0;

  // One question at a time: while one is under way the next waits, and only the newest is asked.
  async function ask() {
    clearTimeout(timer);
    if (under) { again = true; return; }
    under = address();
    history.replaceState(null, '', under);
    for (const back of document.querySelectorAll('input[name="back"]')) back.value = under;
    try {
      const joint = under.includes('?') ? '&' : '?';
      const answer = await fetch(`${under}${joint}part=answer`, { headers: headers() });
      replace(await answer.text());
    } catch {
      for (const part of document.querySelectorAll('[data-live]')) part.classList.add('stale');
    }
    under = null;
    if (again) { again = false; ask(); } else askLater();
  }

  // What takes longer to work out waits until the inputs rest.
  const REST_MS = 600;
  let later = 0;
  function askLater() {
    const waiting = document.querySelectorAll('[data-later]');
    if (!waiting.length) return;
    for (const part of waiting) { part.classList.add('stale'); part.setAttribute('aria-busy', 'true'); }
    clearTimeout(later);
    later = setTimeout(async () => {
      const asked = address();
      try {
        const answer = await fetch(`${asked}${asked.includes('?') ? '&' : '?'}part=price`, { headers: headers() });
        const html = await answer.text();
        if (asked === address()) replace(html);
      } catch {
        // the parts stay marked as out of date
      }
    }, REST_MS);
  }

  // A browser that has the means to draw charts is spared the server's drawings.
  function headers() {
    const draws = document.documentElement.dataset.draws;
    return { Accept: 'text/html', ...(draws && { 'Clew-Draws': draws }) };
  }

  // What the address says: what was chosen, and only those inputs that differ from the mill file.
  function address() {
    const said = new URLSearchParams();
    for (const field of form.elements) {
      if (!field.name || field.type === 'submit') continue;
      const text = field.value.trim();
      if (field.type === 'hidden' ? text : text && text !== field.dataset.mill) said.append(field.name, text);
    }
    const query = said.toString();
    return form.getAttribute('action') + (query ? `?${query}` : '');
  }

  function replace(html) {
    const fresh = new DOMParser().parseFromString(html, 'text/html');
    const parts = fresh.querySelectorAll('[data-live]');
    // a page that says why there is no answer: what stands here is of other values now
    if (!parts.length) throw new Error('no answer');
    for (const part of parts) {
      const old = document.getElementById(part.id);
      if (!old || old.innerHTML === part.innerHTML) { old?.classList.remove('stale'); old?.removeAttribute('aria-busy'); continue; }
      for (const open of old.querySelectorAll('details[open]')) {
        const same = open.id && part.querySelector(`#${CSS.escape(open.id)}`);
        if (same) same.open = true;
      }
      const focus = old.contains(document.activeElement) ? document.activeElement : null;
      const path = focus && wayTo(old, focus);
      document.dispatchEvent(new CustomEvent('clew:part', { detail: { old, part } }));
      old.replaceWith(document.adoptNode(part));
      if (path) wayFrom(part, path)?.focus({ preventScroll: true });
    }
    for (const field of fields) {
      const wrong = document.getElementById(`${field.id}-fault`)?.textContent.trim();
      field.toggleAttribute('aria-invalid', Boolean(wrong));
      if (wrong) field.setAttribute('aria-invalid', 'true');
      field.classList.toggle('moved', field.value.trim() !== field.dataset.mill && field.value.trim() !== '');
    }
    document.dispatchEvent(new CustomEvent('clew:answer'));
  }

  function addSlider(field) {
    const slider = document.createElement('input');
    const { low, high, step, place, unit } = field.dataset;
    slider.type = 'range';
    Object.assign(slider, { min: low, max: high, step, value: place });
    slider.setAttribute('aria-label', field.dataset.slider);
    slider.setAttribute('aria-valuetext', field.value);
    slider.addEventListener('input', () => {
      const places = (step.split('.')[1] ?? '').length;
      const number = Number(slider.value).toFixed(places).replace('.', decimal);
      field.value = unit ? `${number} ${unit}` : number;
      slider.setAttribute('aria-valuetext', field.value);
      ask();
    });
    field.addEventListener('input', () => {
      const typed = /^\s*([\d.,]+)\s*(.*?)\s*$/.exec(field.value);
      if (typed && typed[2] === unit) slider.value = typed[1].replace(',', '.');
      slider.setAttribute('aria-valuetext', field.value);
      clearTimeout(timer);
      timer = setTimeout(ask, 250);
    });
    field.insertAdjacentElement('afterend', slider);
    return slider;
  }

  form.querySelector('.plain-link').addEventListener('click', (event) => {
    event.preventDefault();
    for (const [field, slider] of sliders) {
      field.value = field.dataset.mill;
      slider.value = field.dataset.place0 ?? slider.defaultValue;
    }
    ask();
  });
}

// Where a focused thing stands inside a part, as places among its siblings, to find it again.
function wayTo(part, thing) {
  const way = [];
  for (let at = thing; at !== part; at = at.parentElement) way.unshift([...at.parentElement.children].indexOf(at));
  return way;
}

function wayFrom(part, way) {
  return way.reduce((at, place) => at?.children[place], part);
}
