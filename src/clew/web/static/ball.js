// The wound ball with its real path: dragged by finger or mouse, turned by the arrow keys. Strands are
// painted in the order they were laid, so the last ones lie on top, as on the ball itself.

// Turns painted, counted back from the last one shown; those below are hidden. Fewer while it is held.
const LAYER = 280;
const HELD_LAYER = 170;
const figure = document.getElementById('ball-view');
const canvas = figure?.querySelector('canvas');

if (canvas) {
  let ball = null;
  let shown = 0;
  let view = start();
  let waiting = 0;
  let asked = '';
  let from = null;
  const grow = addGrow();

  load();
  document.addEventListener('clew:answer', () => { clearTimeout(waiting); waiting = setTimeout(load, 120); });
  document.addEventListener('clew:light', () => requestAnimationFrame(paint));
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => requestAnimationFrame(paint));
  new ResizeObserver(() => requestAnimationFrame(paint)).observe(canvas);

  async function load() {
    const still = document.getElementById('ball-still');
    const address = still?.dataset.path;
    canvas.classList.toggle('stale', !address);
    if (!address || address === asked) return;
    asked = address;
    const answer = await fetch(address).catch(() => null);
    if (!answer?.ok || asked !== address) return;
    const path = await answer.json();
    const whole = shown === 0 || (ball && shown === ball.turns);
    ball = { ...unpacked(path), colours: [still.dataset.strand, still.dataset.shade, still.dataset.gap] };
    shown = whole ? ball.turns : Math.min(shown, ball.turns);
    canvas.hidden = false;
    document.documentElement.classList.add('scripted');
    grow.update();
    paint();
  }

  function unpacked(path) {
    const bytes = Uint8Array.from(atob(path.points_base64), (letter) => letter.charCodeAt(0));
    const whole = new DataView(bytes.buffer);
    const points = new Float32Array(bytes.length / 2);
    let reach = 0;
    for (let i = 0; i < points.length; i += 1) {
      points[i] = whole.getInt16(2 * i, true) * path.mm_per_unit;
      if (i % 3 === 2) reach = Math.max(reach, Math.hypot(points[i - 2], points[i - 1], points[i]));
    }
    const ends = { stages: path.stage_turns, latitude: path.latitude_deg, radius: path.radius_mm, from: path.highest_crossed_deg - 3, hole: path.mandrel_diameter_mm / 2 };
    return { points, reach, ends, turns: path.turns, steps: path.steps_per_turn, strand: path.strand_width_mm };
  }

  // ------------------------------------------------------------------ holding the ball
  // Rows of the matrix: right, up, and towards the reader. The axis starts across the picture.
  function start() {
    return turned(turned([[0, 0, 1], [1, 0, 0], [0, 1, 0]], 'up', 0.42), 'right', 0.5);
  }

  function turned([right, up, near], about, angle) {
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    const mix = (p, q, a, b) => p.map((value, i) => a * value + b * q[i]);
    if (about === 'up') return [mix(right, near, c, s), up, mix(near, right, c, -s)];
    return [right, mix(up, near, c, -s), mix(near, up, c, s)];
  }

  function turn(across, down) {
    view = turned(turned(view, 'up', across), 'right', down);
    requestAnimationFrame(paint);
  }

  canvas.addEventListener('pointerdown', (event) => {
    from = [event.clientX, event.clientY];
    canvas.setPointerCapture(event.pointerId);
    canvas.classList.add('held');
  });
  canvas.addEventListener('pointermove', (event) => {
    if (!from) return;
    const reach = canvas.clientWidth / 2;
    turn((event.clientX - from[0]) / reach, (event.clientY - from[1]) / reach);
    from = [event.clientX, event.clientY];
  });
  for (const end of ['pointerup', 'pointercancel']) {
    canvas.addEventListener(end, () => {
      from = null;
      canvas.classList.remove('held');
      requestAnimationFrame(paint);
    });
  }
  canvas.addEventListener('keydown', (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (event.key === 'Home') { view = start(); requestAnimationFrame(paint); } else if (step) turn(step[0] / 6, step[1] / 6); else return;
    event.preventDefault();
  });

  // ------------------------------------------------------------------ painting
  function paint() {
    if (!ball || canvas.hidden) return;
    const side = Math.round(canvas.clientWidth * Math.min(devicePixelRatio, 2));
    if (!side) return;
    if (canvas.width !== side) { canvas.width = side; canvas.height = side; }
    const pen = canvas.getContext('2d');
    const scale = (0.485 * side) / ball.reach;
    const { points, steps, turns } = ball;
    const held = Math.floor(points.length / 3 / steps);
    const first = turns - held;
    const last = Math.max(1, Math.min(held, shown - first));
    const begin = Math.max(0, last - (from ? HELD_LAYER : LAYER));
    const [right, up, near] = view;
    const [x, y, z] = [new Float32Array((last - begin) * steps + 1), new Float32Array((last - begin) * steps + 1), new Float32Array((last - begin) * steps + 1)];
    for (let i = 0; i < x.length; i += 1) {
      const at = 3 * (begin * steps + i);
      const [a, b, c] = [points[at], points[at + 1], points[at + 2]];
      x[i] = side / 2 + scale * (a * right[0] + b * right[1] + c * right[2]);
      y[i] = side / 2 - scale * (a * up[0] + b * up[1] + c * up[2]);
      z[i] = a * near[0] + b * near[1] + c * near[2];
    }
    pen.globalCompositeOperation = 'source-over';
    pen.clearRect(0, 0, side, side);
    pen.lineCap = 'round';
    pen.lineJoin = 'round';
    const [strand, shade, gap] = ball.colours;
    const width = Math.max(1, scale * ball.strand);
    under(pen, x, y, side, gap, width);
    end(pen, side, scale, shade, gap);
    for (let t = 0; t < last - begin; t += 1) {
      const run = new Path2D();
      let drawing = false;
      for (let i = t * steps; i <= (t + 1) * steps; i += 1) {
        if (z[i] < 0) { drawing = false; continue; }
        if (drawing) run.lineTo(x[i], y[i]); else run.moveTo(x[i], y[i]);
        drawing = true;
      }
      pen.lineWidth = width * 1.12;
      pen.strokeStyle = gap;
      pen.stroke(run);
      pen.lineWidth = width * 0.78;
      pen.strokeStyle = (t + last) % 2 ? strand : shade;
      pen.stroke(run);
    }
    light(pen, side, ball.reach * scale);
    canvas.dataset.view = view.flat().map((value) => value.toFixed(3)).join(' ');
    canvas.dataset.turns = String(Math.min(shown, turns));
  }

  // What lies under the painted strands: the ball's outline in the colour of its gaps, with an edge.
  function under(pen, x, y, side, gap, width) {
    const sectors = 120;
    const far = new Float32Array(sectors);
    const at = new Int32Array(sectors).fill(-1);
    for (let i = 0; i < x.length; i += 1) {
      const [dx, dy] = [x[i] - side / 2, y[i] - side / 2];
      const sector = Math.min(sectors - 1, Math.floor(((Math.atan2(dy, dx) + Math.PI) / (2 * Math.PI)) * sectors));
      const distance = dx * dx + dy * dy;
      if (distance > far[sector]) { far[sector] = distance; at[sector] = i; }
    }
    pen.beginPath();
    for (const i of at) if (i >= 0) pen.lineTo(x[i], y[i]);
    pen.closePath();
    pen.fillStyle = gap;
    pen.fill();
    pen.lineWidth = width * 1.5;
    pen.strokeStyle = getComputedStyle(figure).getPropertyValue('--edge');
    pen.stroke();
  }

  // The end face that is seen: yarn that slid there, as rings on the computed surface, and the hole.
  function end(pen, side, scale, shade, gap) {
    const { stages, latitude, radius, from, hole } = ball.ends;
    const late = Math.max(1, stages.findIndex((turn) => turn >= shown));
    const share = (shown - stages[late - 1]) / (stages[late] - stages[late - 1]);
    const [right, up, near] = view;
    const way = near[2] < 0 ? -1 : 1;
    pen.lineWidth = Math.max(1, side / 500);
    pen.strokeStyle = gap;
    for (let k = 0; k < latitude.length; k += 1) {
      if (latitude[k] < from) continue;
      const r = radius[late - 1][k] * (1 - share) + radius[late][k] * share;
      const out = r * Math.cos((latitude[k] * Math.PI) / 180);
      const along = way * r * Math.sin((latitude[k] * Math.PI) / 180);
      const bore = out <= 1.04 * hole;
      pen.beginPath();
      for (let i = 0; i < 60; i += 1) {
        const [a, b] = [out * Math.cos((i * Math.PI) / 30), out * Math.sin((i * Math.PI) / 30)];
        pen.lineTo(side / 2 + scale * (a * right[0] + b * right[1] + along * right[2]), side / 2 - scale * (a * up[0] + b * up[1] + along * up[2]));
      }
      pen.closePath();
      pen.fillStyle = bore ? gap : shade;
      pen.fill();
      pen.stroke();
      if (bore) return;
    }
  }

  function light(pen, side, reach) {
    const middle = side / 2;
    const glow = pen.createRadialGradient(middle - 0.35 * reach, middle - 0.4 * reach, 0.1 * reach, middle, middle, 1.08 * reach);
    glow.addColorStop(0, 'rgba(255,255,255,.26)');
    glow.addColorStop(0.45, 'rgba(255,255,255,0)');
    glow.addColorStop(0.72, 'rgba(0,0,0,.08)');
    glow.addColorStop(1, 'rgba(0,0,0,.5)');
    pen.globalCompositeOperation = 'source-atop';
    pen.fillStyle = glow;
    pen.fillRect(0, 0, side, side);
  }

  // A slider that takes turns off the ball again, to look inside its build.
  function addGrow() {
    const label = document.createElement('label');
    label.className = 'grow screen-only';
    label.innerHTML = '<span></span><input type="range" min="1" step="1"><output></output>';
    label.querySelector('span').textContent = canvas.dataset.wordTurns;
    const [slider, said] = [label.querySelector('input'), label.querySelector('output')];
    slider.addEventListener('input', () => { shown = Number(slider.value); said.value = slider.value; requestAnimationFrame(paint); });
    label.hidden = true;
    canvas.insertAdjacentElement('afterend', label);
    return {
      update() {
        const held = Math.floor(ball.points.length / 3 / ball.steps);
        Object.assign(slider, { min: ball.turns - held + 1, max: ball.turns, value: shown });
        said.value = String(shown);
        label.hidden = false;
      },
    };
  }
}
