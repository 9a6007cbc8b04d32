// What was found of a lot answers while it is entered: the parts of the page that depend on it are
// fetched again. Without this file the form sends itself and the page says the same.

const form = document.querySelector('form[data-lots]');

if (form) {
  const REST_MS = 350;
  let under = false;
  let again = false;
  let timer = 0;

  form.querySelector('.go').hidden = true;
  form.addEventListener('submit', (event) => { event.preventDefault(); ask(); });
  form.addEventListener('change', (event) => { if (event.target.type !== 'text') ask(); });
  form.addEventListener('input', (event) => {
    if (event.target.type !== 'text') return;
    clearTimeout(timer);
    timer = setTimeout(ask, REST_MS);
  });

  // One question at a time: while one is under way the next waits, and only the newest is asked.
  async function ask() {
    clearTimeout(timer);
    if (under) { again = true; return; }
    under = true;
    const asked = address();
    history.replaceState(null, '', asked);
    for (const back of document.querySelectorAll('input[name="back"]')) back.value = asked;
    try {
      const answer = await fetch(`${asked}&part=answer`, { headers: headers() });
      replace(await answer.text());
    } catch {
      for (const part of document.querySelectorAll('[data-live]')) part.classList.add('stale');
    }
    under = false;
    if (again) { again = false; ask(); }
  }

  // A browser that has the means to draw charts is spared the server's drawings.
  function headers() {
    const draws = document.documentElement.dataset.draws;
    return { Accept: 'text/html', ...(draws && { 'Clew-Draws': draws }) };
  }

  // What the address says: what was chosen, and what was entered.
  function address() {
    const said = new URLSearchParams();
    for (const [name, text] of new FormData(form)) if (text.trim()) said.append(name, text.trim());
    return `${form.getAttribute('action')}?${said}`;
  }

  function replace(html) {
    const fresh = new DOMParser().parseFromString(html, 'text/html');
    const parts = fresh.querySelectorAll('[data-live]');
    // a page that says why there is no answer: what stands here is of other values now
    if (!parts.length) throw new Error('no answer');
    for (const part of parts) {
      const old = document.getElementById(part.id);
      if (!old || old.outerHTML === part.outerHTML) { old?.classList.remove('stale'); continue; }
      for (const one of old.querySelectorAll('details[id]')) {
        const same = part.querySelector(`#${CSS.escape(one.id)}`);
        if (same) same.open = one.open;
      }
      document.dispatchEvent(new CustomEvent('clew:part', { detail: { old, part } }));
      old.replaceWith(document.adoptNode(part));
    }
    for (const field of form.querySelectorAll('input[type="text"]')) {
      const wrong = document.getElementById(`${field.id}-fault`)?.textContent.trim();
      if (wrong) field.setAttribute('aria-invalid', 'true');
      else field.removeAttribute('aria-invalid');
    }
    document.dispatchEvent(new CustomEvent('clew:answer'));
  }
}
