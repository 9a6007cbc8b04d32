// A touch counts even when the workbench does not answer: it is kept on this tablet with its moment
// and its key, and sent until it is acknowledged. Without this file the form sends itself.

const KEPT = 'clew-waiting';
const AGAIN_MS = 4000;
const told = document.getElementById('told');
const waiting = document.getElementById('waiting');

function read() {
  try { return JSON.parse(localStorage.getItem(KEPT)) ?? []; } catch { return []; }
}

function write(list) {
  try { localStorage.setItem(KEPT, JSON.stringify(list)); return true; } catch { return false; }
}

function newKey() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (one) => one.toString(16).padStart(2, '0')).join('');
}

function tell(words, wrong) {
  const line = document.createElement('p');
  line.className = wrong ? 'told wrong' : 'told done';
  line.textContent = words;
  told.replaceChildren(line);
}

function filled(message, places) {
  return message.replace(/\{(\w+)\}/g, (_, name) => places[name]);
}

function tellWaiting() {
  const list = read();
  waiting.hidden = list.length === 0;
  if (!list.length) return;
  const since = new Date(list[0].at).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' });
  waiting.textContent = filled(list.length === 1 ? waiting.dataset.wordOne : waiting.dataset.wordMany, { n: list.length, clock: since });
}

// What waited was touched in a session that may have ended since: the proof is this page's own.
function proven(body) {
  const said = new URLSearchParams(body);
  const proof = document.querySelector('input[name="csrf"]');
  if (proof) said.set('csrf', proof.value);
  return said.toString();
}

let sending = false;
const typedIn = new Map();  // the form of an entry, until it is known what became of it

function settle(key, emptied) {
  const form = typedIn.get(key);
  typedIn.delete(key);
  if (!form || !emptied) return;
  form.closest('details')?.removeAttribute('open');
  form.reset();
}

// One after another, the oldest first; one that is refused is told and taken off, so that it does not
// hold up the rest.
async function send() {
  if (sending) return;
  sending = true;
  let done = 0;
  for (let list = read(); list.length; list = read()) {
    const first = list[0];
    let answer;
    try {
      answer = await fetch('/run/hand', {
        method: 'POST',
        headers: { Accept: 'application/json', 'Content-Type': 'application/x-www-form-urlencoded' },
        body: proven(first.body),
      });
    } catch { settle(first.key, true); break; }
    if (answer.status === 401 || answer.status === 429 || answer.status >= 500) { settle(first.key, true); break; }
    const said = await answer.json().catch(() => ({}));
    write(read().filter((one) => one.key !== first.key));
    settle(first.key, answer.ok);
    if (answer.ok) {
      done += 1;
      const kept = filled(told.dataset.wordKept, { what: first.words, record: said.seq });
      tell(said.odd?.length ? `${kept} ${filled(told.dataset.wordOdd, { what: said.odd.join(', ') })}` : kept, false);
    } else {
      const why = (said.faults ?? []).map((one) => `${one.key ? `${one.key}: ` : ''}${one.what}${one.expected ? `; ${one.expected}` : ''}`).join('. ');
      tell(filled(told.dataset.wordRefused, { what: first.words, why: why || told.dataset.wordNoReason }), true);
    }
  }
  sending = false;
  tellWaiting();
  if (done) refresh();
}

// What was entered last is read again, and nothing that is being typed is touched.
async function refresh() {
  try {
    const answer = await fetch(location.href, { headers: { Accept: 'text/html' } });
    const fresh = new DOMParser().parseFromString(await answer.text(), 'text/html').querySelector('section[aria-labelledby="entered"]');
    const old = document.querySelector('section[aria-labelledby="entered"]');
    if (fresh && old) old.replaceWith(document.adoptNode(fresh));
  } catch {
    // the list is old, and what was entered is kept all the same
  }
}

for (const form of document.querySelectorAll('form[data-deed]')) {
  form.addEventListener('submit', (event) => {
    const at = new Date().toISOString();
    const key = newKey();
    const said = new URLSearchParams();
    for (const [name, text] of new FormData(form)) if (text !== '') said.append(name, text);
    said.set('key', key);
    if (!said.get('clock')) said.set('at', at);
    const words = form.querySelector('button').dataset.what;
    if (!write([...read(), { key, at, words, body: said.toString() }])) return;  // no room here: the form sends itself
    event.preventDefault();
    typedIn.set(key, form);
    send();
  });
}

addEventListener('online', send);
setInterval(() => { if (read().length) send(); }, AGAIN_MS);
tellWaiting();
if (read().length) send();
