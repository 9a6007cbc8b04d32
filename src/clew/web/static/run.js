// The page hears that something was recorded and asks for what it shows. When the workbench does not
// answer, what stands here stays, marked with its age. Without this file the page asks anew by itself.

const live = () => document.getElementById('live');
const away = document.getElementById('away');
const OFTEN_MS = 300;
const QUIET_MS = 10_000;

let under = false;  // asked, and not answered yet
let again = false;
let timer = 0;
let asked = 0;
let lost = null;

function tellAway() {
  if (lost === null) { away.hidden = true; live()?.classList.remove('stale'); return; }
  live()?.classList.add('stale');
  away.hidden = false;
  away.textContent = away.dataset.wordAway.replace('{clock}', lost);
}

function missed() {
  lost ??= live()?.dataset.at || new Date().toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' });
  tellAway();
}

async function ask() {
  clearTimeout(timer);
  if (under) { again = true; return; }
  under = true;
  asked = performance.now();
  try {
    const line = encodeURIComponent(live().dataset.line);
    const answer = await fetch(`/run?line=${line}&part=live`, { headers: { Accept: 'text/html' } });
    if (answer.redirected || answer.status === 401) { location.reload(); return; }
    if (put(await answer.text())) { lost = null; tellAway(); } else missed();
  } catch { missed(); }
  under = false;
  // now and then by itself: minutes to a tie run down
  timer = setTimeout(ask, QUIET_MS);
  if (again) soon();
  again = false;
}

// Not more often than a person can look, however many readings a second the machines send.
function soon() {
  if (under) { again = true; return; }
  clearTimeout(timer);
  timer = setTimeout(ask, Math.max(0, asked + OFTEN_MS - performance.now()));
}

function put(html) {
  const fresh = new DOMParser().parseFromString(html, 'text/html').getElementById('live');
  const old = live();
  if (!fresh || !old) return false;
  if (old.innerHTML === fresh.innerHTML) return true;
  const open = [...old.querySelectorAll('details[open]')].map((one) => one.id);
  for (const one of fresh.querySelectorAll('details')) if (open.includes(one.id)) one.open = true;
  const focus = old.contains(document.activeElement) ? document.activeElement : null;
  const href = focus?.getAttribute('href');
  old.replaceWith(document.adoptNode(fresh));
  if (fresh.dataset.run !== old.dataset.run) renewForms();
  if (href) fresh.querySelector(`a[href="${CSS.escape(href)}"]`)?.focus({ preventScroll: true });
  document.dispatchEvent(new CustomEvent('clew:live'));
  return true;
}

// A run was started or ended elsewhere: what the lead can do here is another thing now. What is being
// filled in stays.
async function renewForms() {
  const forms = document.querySelector('.deeds-of-lead');
  if (!forms || forms.querySelector('details[open]')) return;
  try {
    const answer = await fetch(location.href, { headers: { Accept: 'text/html' } });
    const fresh = new DOMParser().parseFromString(await answer.text(), 'text/html').querySelector('.deeds-of-lead');
    if (fresh && !forms.querySelector('details[open]')) forms.replaceWith(document.adoptNode(fresh));
  } catch {
    // the forms are old; the workbench refuses what cannot be done any more
  }
}

let stream = null;
function listen() {
  stream?.close();
  stream = new EventSource('/run/stream');
  stream.addEventListener('heads', (event) => {
    document.documentElement.dataset.heads = event.data;
    soon();
  });
  stream.addEventListener('here', () => { if (lost !== null) ask(); });
  stream.addEventListener('trouble', soon);
  stream.addEventListener('error', missed);
}

listen();
timer = setTimeout(ask, QUIET_MS);
addEventListener('online', () => { listen(); ask(); });
document.addEventListener('visibilitychange', () => { if (!document.hidden) ask(); });
