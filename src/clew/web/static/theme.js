// The light of the pages changes at once; the cookie is set in the background.
for (const form of document.querySelectorAll('form[data-reader="theme"]')) {
  form.addEventListener('submit', (event) => {
    const button = event.submitter;
    if (!button) return;
    event.preventDefault();
    document.documentElement.dataset.theme = button.value;
    for (const other of form.querySelectorAll('button')) {
      other.setAttribute('aria-pressed', String(other === button));
    }
    const said = new URLSearchParams({ theme: button.value, back: '/', csrf: form.elements.csrf.value });
    fetch(form.action, { method: 'POST', body: said, redirect: 'manual' }).catch(() => form.submit());
    document.dispatchEvent(new CustomEvent('clew:light'));
  });
}
