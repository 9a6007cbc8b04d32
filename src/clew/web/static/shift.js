// The drawn line in motion. The server drew the first moment; this moves the same parts by the same
// rules: a frame holds until the next, and between two frames buffer, ball and belt run straight.
// Windows of 20 minutes are fetched as they are needed. Without this file the drawing stands still.

const WINDOW_S = 1200;
const SLOW_TURN = 200; // degrees a turning ball turns in a second of the reader's time, to be seen
const still = matchMedia('(prefers-reduced-motion: reduce)');
const kept = { at: null, speed: 10, playing: !still.matches };
let player = null;

class Player {
  constructor(part) {
    this.part = part;
    this.shiftS = Number(part.dataset.shiftS);
    this.words = JSON.parse(part.dataset.words);
    this.at = Math.min(kept.at ?? Number(part.dataset.at), this.shiftS);
    this.windows = new Map();
    this.asked = new Set();
    this.turn = 20;
    this.playing = false;
    this.alive = true;
    this.seen = false;
    this.loaded = false;
    this.drawings = [...part.querySelectorAll('svg[data-shift]')].map((svg) => new Drawing(svg, this.words));
    const find = (name) => part.querySelector(`[data-${name}]`);
    [this.keys, this.play, this.clock, this.scrub, this.stage, this.said] =
      ['keys', 'play', 'clock', 'scrub', 'stage', 'said'].map(find);
    this.keys.hidden = false;
    find('moment').hidden = true;
    find('hint').hidden = false;
    this.listen();
    this.speed(kept.speed);
    this.show();
    this.want(this.at).then(() => {
      this.show();
      this.loaded = true;
      this.mayStart();
    });
  }

  listen() {
    this.play.addEventListener('click', () => this.toggle());
    for (const button of this.keys.querySelectorAll('[data-speed]')) {
      button.addEventListener('click', () => this.speed(Number(button.dataset.speed)));
    }
    for (const button of this.keys.querySelectorAll('[data-step]')) {
      button.addEventListener('click', () => this.step(Number(button.dataset.step)));
    }
    this.scrub.addEventListener('input', () => this.go(Number(this.scrub.value)));
    this.part.addEventListener('keydown', (event) => this.key(event));
    for (const strip of document.querySelectorAll('svg[data-strip]')) this.clickable(strip);
    this.watch = new IntersectionObserver((entries) => {
      this.seen = entries.at(-1).isIntersecting;
      this.mayStart();
    });
    this.watch.observe(this.stage);
  }

  // It plays of itself only once it is in sight.
  mayStart() {
    if (kept.playing && this.alive && this.seen && this.loaded && !this.playing) this.start();
  }

  // Space plays, arrows go, comma and full stop step; a button or slider that is held keeps its own.
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const own = event.target.closest('button, input, select, a, summary');
    const slides = event.target === this.scrub;
    const deeds = {
      ' ': own && !slides ? null : () => this.toggle(),
      ArrowLeft: slides || !own || own.closest('[data-keys]') ? () => this.go(this.at - 10) : null,
      ArrowRight: slides || !own || own.closest('[data-keys]') ? () => this.go(this.at + 10) : null,
      ',': () => this.step(-1),
      '.': () => this.step(1),
    };
    const deed = deeds[event.key];
    if (!deed) return;
    event.preventDefault();
    deed();
  }

  clickable(strip) {
    strip.addEventListener('click', (event) => {
      const { from, to, left, right } = strip.dataset;
      const box = strip.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * strip.viewBox.baseVal.width;
      const part = Math.min(Math.max((x - left) / (right - left), 0), 1);
      this.go(Number(from) + part * (to - from));
    });
  }

  speed(speed) {
    kept.speed = speed;
    for (const button of this.keys.querySelectorAll('[data-speed]')) {
      button.setAttribute('aria-pressed', String(Number(button.dataset.speed) === speed));
    }
  }

  toggle() { if (this.playing) this.pause(); else this.start(); }

  start() {
    if (this.at >= this.shiftS) this.at = 0;
    kept.playing = true;
    this.playing = true;
    this.mark(this.words.pause);
    this.said.textContent = '';
    this.last = performance.now();
    requestAnimationFrame((now) => this.tick(now));
  }

  pause() {
    kept.playing = false;
    this.playing = false;
    this.mark(this.words.play);
    this.show();
    this.tell();
  }

  mark(words) {
    this.play.setAttribute('aria-pressed', String(this.playing));
    this.play.querySelector('[data-play-words]').textContent = words;
  }

  tick(now) {
    if (!this.playing || !this.alive) return;
    const past = Math.min(now - this.last, 100) / 1000;
    this.last = now;
    const next = Math.min(this.at + past * kept.speed, this.shiftS);
    if (this.seen && this.has(next)) {
      this.at = next;
      this.turn = (this.turn + past * SLOW_TURN) % 360;
      this.show();
    }
    this.stage.classList.toggle('waits-for-data', !this.has(next));
    this.want(next);
    this.want(Math.min(next + WINDOW_S * (kept.speed > 100 ? 2 : 1), this.shiftS));
    if (this.at >= this.shiftS) this.pause();
    else requestAnimationFrame((then) => this.tick(then));
  }

  async go(at) {
    this.at = Math.min(Math.max(at, 0), this.shiftS);
    kept.at = this.at;
    this.place();
    await this.want(this.at);
    this.show();
    clearTimeout(this.later);
    if (!this.playing) this.later = setTimeout(() => this.tell(), 500);
  }

  // To the event before or after this moment, in any lane or hand.
  async step(way) {
    if (this.playing) this.pause();
    for (let window = this.number(this.at); window >= 0 && window * WINDOW_S < this.shiftS; window += way) {
      await this.want(window * WINDOW_S);
      const data = this.windows.get(window);
      if (!data) return;
      const times = data.changes.filter((at) => (way > 0 ? at > this.at + 0.005 : at < this.at - 0.005));
      if (times.length) { this.go(way > 0 ? times[0] : times.at(-1)); return; }
    }
  }

  number(at) { return Math.floor(Math.min(at, this.shiftS - 0.001) / WINDOW_S); }
  has(at) { return this.windows.has(this.number(at)); }

  async want(at) {
    const number = this.number(at);
    if (this.windows.has(number) || this.asked.has(number)) return this.windows.get(number) ?? this.under?.get(number);
    this.asked.add(number);
    const from = number * WINDOW_S;
    const to = Math.min(from + WINDOW_S, this.shiftS);
    const asked = fetch(`${this.part.dataset.timeline}&from_s=${from}&to_s=${to}`)
      .then((answer) => { if (!answer.ok) throw new Error(String(answer.status)); return answer.json(); })
      .then((data) => this.windows.set(number, readied(data)))
      .catch(() => this.asked.delete(number));
    this.under = (this.under ?? new Map()).set(number, asked);
    return asked;
  }

  place() {
    const words = clockWords(this.at);
    this.clock.textContent = words;
    this.scrub.value = String(this.at);
    this.scrub.setAttribute('aria-valuetext', words);
    this.part.querySelector('[data-caption]').textContent = words;
    for (const strip of document.querySelectorAll('svg[data-strip]')) moveMark(strip, this.at);
  }

  show() {
    this.place();
    kept.at = this.at;
    const data = this.windows.get(this.number(this.at));
    if (!data) return;
    this.moment = momentOf(data, this.at, this.words);
    for (const drawing of this.drawings) drawing.show(data, this.moment, this.at, this.turn);
    this.near();
  }

  // Said only when the line stands still, so that nobody is read to without end.
  tell() {
    if (!this.moment) return;
    const counts = new Map();
    for (const lane of this.moment.lanes) counts.set(lane.doing, (counts.get(lane.doing) ?? 0) + 1);
    const { order, so_many: soMany, winders, belts } = this.words;
    const told = order.filter((one) => counts.has(one)).map((one) => filled(soMany[one], { n: counts.get(one) }));
    const stand = this.moment.lanes.filter((lane) => !lane.runs).length;
    const said = [counted(winders, this.moment.lanes.length, { told: told.join(', ') })];
    if (stand) said.push(counted(belts, stand));
    this.said.textContent = said.join(' ');
  }

  // The strip of half an hour follows the moment when it leaves what is drawn.
  async near() {
    const strip = document.querySelector('svg[data-strip="near"]');
    if (!strip || this.turning) return;
    const { from, to } = strip.dataset;
    if (this.at >= Number(from) - 0.5 && this.at <= Number(to) + 0.5) return;
    if (this.playing && kept.speed > 100 && performance.now() - (this.turned ?? 0) < 1500) return;
    this.turning = true;
    this.turned = performance.now();
    try {
      const address = new URL(location.href);
      address.searchParams.set('at', clockWords(this.at));
      address.searchParams.set('part', 'strip');
      const html = await (await fetch(address, { headers: { Accept: 'text/html' } })).text();
      const fresh = new DOMParser().parseFromString(html, 'text/html').getElementById('shift-near');
      const old = document.getElementById('shift-near');
      if (fresh && old && this.alive) {
        old.replaceWith(document.adoptNode(fresh));
        for (const one of fresh.querySelectorAll('svg[data-strip]')) this.clickable(one);
      }
    } catch {
      // the strip stays as it is
    }
    this.turning = false;
  }

  end() {
    this.alive = false;
    this.playing = false;
    clearTimeout(this.later);
    this.watch.disconnect();
  }
}

function readied(data) {
  const changes = new Set();
  for (const row of [...data.lanes, ...data.hands].flatMap((rows) => rows.slice(1))) changes.add(row[0]);
  return { ...data, changes: [...changes].sort((a, b) => a - b) };
}

// The last row at or before a moment.
function rowAt(rows, at) {
  let low = 0;
  let high = rows.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (rows[middle][0] <= at) low = middle; else high = middle - 1;
  }
  return rows[low];
}

function momentOf(data, at, words) {
  const { line, states } = data;
  const lanes = data.lanes.map((rows) => {
    const [since, winder, feed, whole, dry, runs, arrives, buffer, onBall, balls, tied, clock] = rowAt(rows, at);
    const past = Math.max(at - since, 0);
    const doing = words.doing[winder];
    const wound = doing === 'winding' ? line.wind_m_per_s * past : 0;
    const came = runs && arrives ? line.feed_m_per_s * past : 0;
    return {
      winder: states.winder[winder], doing, state: words.winder[winder], whole, dry, runs, balls, tied,
      buffer: Math.min(Math.max(buffer + came - wound, 0), line.buffer_m),
      onBall: Math.min(onBall + wound, line.ball_m),
      clock: clock + (runs ? past : 0),
      feed: !whole && words.feed[feed] ? words.feed[feed] : runs ? words.feed[feed] : words.belt_stands,
    };
  });
  const hands = data.hands.map((rows) => {
    const [since, until, state, lane, creel, fromLane, fromCreel] = rowAt(rows, at);
    const name = states.hand[state];
    const number = line.winder_numbers[lane];
    const said = filled((creel ? words.hand_at_creel : words.hand)[state], { number });
    return { since, until, doing: name.split(':')[0], lane, creel, fromLane, fromCreel, said };
  });
  return { lanes, hands };
}

class Drawing {
  constructor(svg, words) {
    this.svg = svg;
    this.words = words;
    this.places = JSON.parse(svg.dataset.places);
    this.title = svg.querySelector('title');
    this.lanes = [...svg.querySelectorAll('g.lane')].map((group) => {
      const one = (name) => group.querySelector(name);
      return {
        group, y: Number(/translate\(0 ([\d.]+)/.exec(group.getAttribute('transform'))[1]),
        lay: one('.lay'), gaps: one('.gaps'), marks: one('.marks'), level: one('.level'), percent: one('.percent'), ball: one('.ball'),
        state: one('.state'), count: one('.count'), feed: one('.feed-words'), tied: one('.tied'),
        cones: [...group.querySelectorAll('[data-cone]')], runs: one('.cone.runs'),
      };
    });
    this.hands = [...svg.querySelectorAll('g.hand')];
    this.said = [...svg.querySelectorAll('.hand-words .doing')];
  }

  show(data, moment, at, turn) {
    if (!this.svg.checkVisibility()) return;
    const { line } = data;
    const p = this.places;
    const way = p.belt_to - p.belt_from;
    moment.lanes.forEach((lane, place) => {
      const part = this.lanes[place];
      set(part.group, 'data-winder', lane.winder);
      set(part.group, 'data-doing', lane.doing);
      set(part.group, 'data-belt', lane.runs ? 'runs' : 'stands');
      set(part.group, 'data-feed', lane.whole ? 'whole' : 'stands');
      const spoils = data.spoilt_balls.some(([one, from, to]) => one === place && from <= at && at < to);
      set(part.group, 'data-ball', spoils ? 'spoilt' : 'sound');
      const run = ((lane.clock / line.passage_s) * way) % p.loop;
      set(part.lay, 'transform', `translate(${run.toFixed(2)} 0)`);
      const frac = lane.buffer / line.buffer_m;
      const level = p.buffer_high * frac;
      set(part.level, 'y', (p.buffer_high / 2 - level).toFixed(1));
      set(part.level, 'height', level.toFixed(1));
      write(part.percent, `${Math.round(100 * frac)} %`);
      const [least, most] = [p.ball_least ** 3, p.ball_most ** 3];
      const r = Math.cbrt(least + ((most - least) * lane.onBall) / line.ball_m);
      if (lane.doing === 'winding') part.angle = turn;
      set(part.ball, 'transform', `translate(${p.winder} 0) rotate(${(part.angle ?? 20).toFixed(0)}) scale(${r.toFixed(2)})`);
      write(part.state, lane.state);
      write(part.count, counted(this.words.balls, lane.balls));
      write(part.feed, lane.feed);
      if (part.tied) write(part.tied, filled(this.words.tied, { n: lane.tied }));
      part.cones.forEach((cone, number) => cone.classList.toggle('gone', number >= lane.tied));
      part.runs.classList.toggle('gone', Boolean(lane.dry));
      const here = (all) => all.filter((one) => one[0] === place);
      this.stretches(part.gaps, here(data.gaps), lane.clock, line.passage_s, { class: 'gap', y: -15, height: 26 });
      const spoilt = here(data.spoilt).filter((one) => one[3] <= at);
      this.stretches(part.marks, spoilt, lane.clock, line.passage_s, { class: 'spoilt', y: 14, height: 5 });
    });
    moment.hands.forEach((hand, number) => {
      const [x, y] = this.handPlace(hand, number, at, line);
      set(this.hands[number], 'transform', `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      set(this.hands[number], 'data-doing', hand.doing);
      write(this.said[number], hand.said);
    });
    write(this.title, filled(this.words.title, { clock: clockWords(at) }));
  }

  stretches(group, stretches, clock, passage, looks) {
    const { belt_from: from, belt_to: to } = this.places;
    const spans = stretches
      .map(([, begins, ends]) => [Math.max((clock - (ends ?? Infinity)) / passage, 0), Math.min((clock - begins) / passage, 1)])
      .filter(([a, b]) => b > 0 && a < 1);
    while (group.childElementCount > spans.length) group.lastElementChild.remove();
    while (group.childElementCount < spans.length) {
      const rect = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
      for (const [key, value] of Object.entries(looks)) rect.setAttribute(key, value);
      group.append(rect);
    }
    spans.forEach(([a, b], place) => {
      set(group.children[place], 'x', (from + (to - from) * a).toFixed(1));
      set(group.children[place], 'width', ((to - from) * (b - a)).toFixed(1));
    });
  }

  handPlace(hand, number, at, line) {
    const p = this.places;
    const aisle = (creel) => (creel ? p.creel_aisle : p.winder_aisle);
    const aside = line.hands > 1 ? ((number % 3) - 1) * p.aside : 0;
    const [toX, toY] = [aisle(hand.creel), this.lanes[hand.lane].y];
    if (hand.doing !== 'walking' || hand.until <= hand.since) return [toX + aside, toY];
    const [fromX, fromY] = [aisle(hand.fromCreel), this.lanes[hand.fromLane].y];
    const rows = line.spacing_m * Math.abs(hand.lane - hand.fromLane);
    const across = hand.creel !== hand.fromCreel ? line.across_m : 0;
    const walked = ((rows + across) * Math.max(at - hand.since, 0)) / (hand.until - hand.since);
    const along = rows ? Math.min(walked / rows, 1) : 1;
    const over = across ? Math.min(Math.max(walked - rows, 0) / across, 1) : 0;
    const dip = across ? p.row * 0.34 * Math.min(1, 12 * Math.min(over, 1 - over)) : 0;
    return [fromX + (toX - fromX) * over + aside, fromY + (toY - fromY) * along + dip];
  }
}

function moveMark(strip, at) {
  const { from, to, left, right } = strip.dataset;
  const mark = strip.querySelector('.now');
  const inside = at >= Number(from) - 0.5 && at <= Number(to) + 0.5;
  if (!mark) return;
  mark.classList.toggle('away', !inside);
  const x = Number(left) + ((right - left) * (at - from)) / (to - from);
  if (inside) set(mark, 'd', mark.getAttribute('d').replace(/^M[-\d.]+/, `M${x.toFixed(1)}`));
}

function set(thing, name, value) {
  if (thing.getAttribute(name) !== String(value)) thing.setAttribute(name, value);
}

function write(thing, words) {
  if (thing.textContent !== words) thing.textContent = words;
}

// The page's own words, their places filled.
function filled(words, fields) {
  return words.replace(/\{(\w+)\}/g, (whole, name) => fields[name] ?? whole);
}

// The same of a number of things, by the plural of the page's language.
function counted([one, many], count, fields) {
  const single = new Intl.PluralRules(document.documentElement.lang).select(count) === 'one';
  return filled(single ? one : many, { n: count, ...fields });
}

function clockWords(at) {
  const whole = Math.floor(at + 1e-6);
  const two = (number) => String(number).padStart(2, '0');
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

function begin() {
  const part = document.querySelector('[data-player]');
  if (player?.part === part) return;
  player?.end();
  player = part ? new Player(part) : null;
}

// What takes longer than a page may: asked for once the page is there, and again once the values rest
// after a slider moved.
let ranked = '';
async function later() {
  const part = document.querySelector('#change [data-wanting]')?.parentElement;
  const asked = location.href;
  if (!part || ranked === asked || document.querySelector('#words [data-quick]')) return;
  ranked = asked;
  part.setAttribute('aria-busy', 'true');
  const address = new URL(asked);
  address.searchParams.set('part', 'change');
  try {
    const html = await (await fetch(address, { headers: { Accept: 'text/html' } })).text();
    const fresh = new DOMParser().parseFromString(html, 'text/html').getElementById('change');
    if (fresh && asked === location.href && part.isConnected) part.replaceWith(document.adoptNode(fresh));
  } catch {
    part.removeAttribute('aria-busy');
  }
  if (ranked === asked) ranked = '';
}

document.addEventListener('clew:answer', () => { begin(); later(); });
begin();
later();
