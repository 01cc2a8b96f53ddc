// The moving car: plays the arrays of an event, drawn on one canvas. No library, no build.
//
// Lengths in m, angles in rad, loads in N, times in s. Axes and signs as in ISO 8855: x forward, y left,
// z up; roll left side up, pitch nose down, bump travel positive. Corners in the order FL, FR, RL, RR.
// Heave, pitch, roll, wheel and road heights, and the tyres' deflection are all drawn `motion` times as
// large, about the car at rest on a level road: so a gap on the screen is a gap on the road.

const CORNERS = ["FL", "FR", "RL", "RR"];
const FACTORS = [1, 2, 5, 10, 20];
const ROOM = 0.32; // [m] drawn: what the largest motion may take up
const PATCH = 0.7; // side of the square of the full-scale load, over the narrower track
const ARROW = 0.075; // [m] drawn per m/s^2
const STEER = 3; // steered wheels are turned this many times as far, if that stays within 40 degrees
const GAP = 12; // [px] between views
const WIDE = 540; // [px] from which on the side view stands beside the plan
const ROW = 800; // [px] from which on all views stand in one row, where the height is small
const LABELS = 92; // [px] for the loads left and right of the plan, where they stand there

const STYLE = `
.fp-car { display: block; width: 100%; color: var(--fp-ink, #22272e); font-size: 0.8125rem; min-width: 0; }
.fp-car canvas { display: block; width: 100%; }
.fp-car-bar { display: flex; flex-wrap: wrap; gap: 6px 10px; align-items: center; margin-top: 6px; }
.fp-car button, .fp-car select { font: inherit; color: inherit; background: var(--fp-paper, #fff);
  border: 1px solid var(--fp-ink-soft, #5b6470); border-radius: 5px; min-height: 28px; padding: 1px 8px; }
.fp-car button:hover, .fp-car select:hover { border-color: var(--fp-ink, #22272e); }
.fp-car-play { min-width: 5.2em; font-weight: 600 !important; }
.fp-car :focus-visible { outline: 2px solid var(--fp-ink, #22272e); outline-offset: 2px; }
.fp-car label { display: inline-flex; gap: 5px; align-items: center; color: var(--fp-ink-soft, #5b6470); }
.fp-car label select { color: var(--fp-ink, #22272e); }
.fp-car-scrub { display: flex; gap: 10px; align-items: center; margin-top: 4px; }
.fp-car-scrub input { flex: 1 1 auto; min-width: 0; width: 100%; margin: 0; height: 24px;
  accent-color: var(--fp-ink, #22272e); }
.fp-car-scrub output { width: 5.2em; text-align: right; font-variant-numeric: tabular-nums; font-weight: 600; }
.fp-car-scrub output span { display: block; font-weight: 400; color: var(--fp-ink-soft, #5b6470); }
.fp-car-scrub input:focus-visible { outline-offset: -2px; border-radius: 4px; }
.fp-car-time { flex: 1 1 auto; min-width: 0; }
.fp-car-phases { display: flex; margin: 0 8px; gap: 1px; }
.fp-car .fp-car-phases button { flex: 1 1 0; min-width: 0; overflow: hidden; text-overflow: ellipsis;
  white-space: nowrap; min-height: 24px; padding: 0 3px; font-size: 0.75rem; border: 0; border-radius: 0;
  border-bottom: 3px solid var(--fp-line, #c9d0d8); background: none; color: var(--fp-ink-soft, #5b6470); }
.fp-car .fp-car-phases button[aria-current="true"] { color: var(--fp-ink, #22272e); font-weight: 600;
  border-bottom-color: var(--fp-ink, #22272e); }
.fp-car-hidden { position: absolute !important; width: 1px; height: 1px; margin: -1px; padding: 0;
  overflow: hidden; clip-path: inset(50%); white-space: nowrap; border: 0; }
.fp-car-key { color: var(--fp-ink-soft, #5b6470); font-size: 0.75rem; margin-left: auto; }
@media (hover: none) { .fp-car-key { display: none; } }
.fp-car-key kbd { font: inherit; border: 1px solid var(--fp-line, #c9d0d8); border-radius: 3px;
  padding: 0 4px; }
`;

const MARKUP = `
<canvas class="fp-car-picture" role="img"></canvas>
<p class="fp-car-hidden" aria-live="polite"></p>
<div class="fp-car-scrub">
  <div class="fp-car-time">
    <div class="fp-car-phases" role="group" aria-label="Go to a phase"></div>
    <canvas class="fp-car-strip" aria-hidden="true"></canvas>
    <input type="range" aria-label="Time in the event" title="Arrow keys: one step, with Shift ten" min="0" max="1" value="0" step="any">
  </div>
  <output><b></b><span></span></output>
</div>
<div class="fp-car-bar">
  <button type="button" class="fp-car-play">Play</button>
  <label>Speed <select class="fp-car-rate">
    <option value="1">real time</option><option value="0.25">1/4</option><option value="0.1">1/10</option>
  </select></label>
  <label><input type="checkbox" class="fp-car-loop" checked> Loop</label>
  <label>Motion <select class="fp-car-motion" title="How many times as large the drawing shows heave, pitch, roll and wheel travel">
    <option value="0">fitting</option>${FACTORS.map((k) => `<option value="${k}">×${k}</option>`).join("")}
  </select></label>
  <label class="fp-car-two">A and B <select class="fp-car-arrangement">
    <option value="overlay">A's outline over B</option><option value="side">side by side</option>
  </select></label>
  <span class="fp-car-key"><kbd>Space</kbd> play &ensp;<kbd title="with Shift: ten steps">←</kbd>
    <kbd title="with Shift: ten steps">→</kbd> step &ensp;<kbd>[</kbd> <kbd>]</kbd> phase</span>
</div>
`;

// ---- the data --------------------------------------------------------------------------------------

// Plain loops: callbacks over 100,000 numbers cost tenths of a second while a set-up is being moved.

function floats(text) {
  const characters = atob(text), n = characters.length;
  const bytes = new Uint8Array(n);
  for (let i = 0; i < n; i++) bytes[i] = characters.charCodeAt(i);
  return new Float32Array(bytes.buffer);
}

function largest(values) {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i] > most) most = values[i];
  return most;
}

function largestSize(values) {
  let most = 0;
  for (let i = 0; i < values.length; i++) {
    const size = values[i] < 0 ? -values[i] : values[i];
    if (size > most) most = size;
  }
  return most;
}

/** One run, decoded, with what the drawing derives from it once. */
function decodedRun(sent, time, car) {
  const run = { label: sent.label };
  for (const key of ["loads", "travel", "heave", "pitch", "roll", "ax", "ay", "speed"]) run[key] = floats(sent[key]);
  run.steer = sent.steer ? floats(sent.steer) : null;
  run.road = sent.road ? floats(sent.road) : null;
  run.off = sent.off ? floats(sent.off) : run.loads.map((load) => (load <= 0 ? 1 : 0));
  run.distance = distances(run.speed, time);
  run.heaviest = largest(run.loads);
  run.steered = run.steer ? largestSize(run.steer) : 0;
  run.liveliest = liveliest(run, car);
  run.sunk = sunkFloor(run, car);
  run.flights = flights(run.off, time);
  run.kerb = run.road ? kerbHeight(run.road) : 0;
  return run;
}

function distances(speed, time) {
  const distance = new Float32Array(speed.length);
  for (let i = 1; i < speed.length; i++) {
    distance[i] = distance[i - 1] + 0.5 * (speed[i] + speed[i - 1]) * (time[i] - time[i - 1]);
  }
  return distance;
}

/** Wheel `k` above its place at rest: its travel and what the body does there. [m] */
function wheelHeight(car, k, travel, heave, pitch, roll) {
  return travel + heave - pitch * car.x[k] + roll * car.y[k];
}

/** The largest motion of body or wheel at any corner. [m] */
function liveliest(run, car) {
  const { travel, heave, pitch, roll } = run;
  let most = 1e-4;
  for (let k = 0; k < 4; k++) {
    const x = car.x[k], y = car.y[k];
    for (let i = 0; i < heave.length; i++) {
      const body = heave[i] - pitch[i] * x + roll[i] * y;
      const wheel = body + travel[4 * i + k];
      const larger = Math.max(body, -body, wheel, -wheel);
      if (larger > most) most = larger;
    }
  }
  return most;
}

/** How far the floor comes down at an axle, over its height at rest: drawn beyond 1 it would be in the road. */
function sunkFloor(run, car) {
  const { heave, pitch } = run, { front, rear } = car, [frontFloor, rearFloor] = car.floor;
  let most = 0;
  for (let i = 0; i < heave.length; i++) {
    most = Math.max(most, (pitch[i] * front - heave[i]) / frontFloor, (pitch[i] * rear - heave[i]) / rearFloor);
  }
  return most;
}

/** Highest point of a road that is mostly level, so of a kerb; 0 of any other road. [m] */
function kerbHeight(road) {
  const highest = largest(road);
  let level = 0;
  for (let i = 0; i < road.length; i++) if (road[i] < 1e-3 && road[i] > -1e-3) level++;
  return highest > 0.01 && level > 0.3 * road.length ? highest : 0;
}

function flights(off, time) {
  const found = [], n = time.length;
  for (let k = 0; k < 4; k++) {
    let from = -1;
    for (let i = 0; i <= n; i++) {
      const up = i < n && off[4 * i + k] > 0;
      if (up && from < 0) from = i;
      if (!up && from >= 0) {
        found.push({ corner: k, start: time[from], end: time[Math.min(i, n - 1)] });
        from = -1;
      }
    }
  }
  return found;
}

function placed(car) {
  const front = car.front_axle_to_cg;
  const rear = front - car.wheelbase;
  const half = [car.front_track / 2, car.rear_track / 2];
  const pair = (a, b) => [a, a, b, b];
  return {
    ...car,
    front,
    rear,
    x: pair(front, rear),
    y: [half[0], -half[0], half[1], -half[1]],
    radius: pair(car.wheel_radius_front, car.wheel_radius_rear),
    width: pair(car.tyre_width_front, car.tyre_width_rear),
    sunk: pair(car.tyre_deflection_front ?? 0.01, car.tyre_deflection_rear ?? 0.01),
    floor: [car.ride_height_front ?? 0.1, car.ride_height_rear ?? 0.1],
    track: Math.max(car.front_track, car.rear_track),
  };
}

/** The next number of 1, 1.25, 1.6, 2, 2.5 ... above: the scale of areas stays put while a set-up is moved. */
function fullScale(value) {
  const decade = 10 ** Math.floor(Math.log10(Math.max(value, 1)));
  return [1, 1.25, 1.6, 2, 2.5, 3.2, 4, 5, 6.3, 8, 10].find((step) => step * decade >= value) * decade;
}

/** What one run is at one instant; filled in place. */
function emptyInstant() {
  return {
    loads: new Float64Array(4), travel: new Float64Array(4), road: new Float64Array(4), wheel: new Float64Array(4),
    off: new Float64Array(4), steer: new Float64Array(2),
    heave: 0, pitch: 0, roll: 0, ax: 0, ay: 0, speed: 0, distance: 0,
    words: { loads: ["", "", "", ""], travel: ["", "", "", ""], briefTravel: ["", "", "", ""], against: ["", "", "", ""], gap: ["", "", "", ""],
      a: "", speed: "", body: "", roll: "", briefRoll: "" },
  };
}

function fillInstant(out, run, car, i, f) {
  const j = Math.min(i + 1, run.heave.length - 1);
  const at = (values) => values[i] + f * (values[j] - values[i]);
  out.heave = at(run.heave);
  out.pitch = at(run.pitch);
  out.roll = at(run.roll);
  out.ax = at(run.ax);
  out.ay = at(run.ay);
  out.speed = at(run.speed);
  out.distance = at(run.distance);
  for (let k = 0; k < 4; k++) {
    const a = 4 * i + k, b = 4 * j + k;
    out.loads[k] = run.loads[a] + f * (run.loads[b] - run.loads[a]);
    out.travel[k] = run.travel[a] + f * (run.travel[b] - run.travel[a]);
    out.road[k] = run.road ? run.road[a] + f * (run.road[b] - run.road[a]) : 0;
    out.off[k] = run.off[f < 0.5 ? a : b];
    out.wheel[k] = wheelHeight(car, k, out.travel[k], out.heave, out.pitch, out.roll);
  }
  for (let k = 0; k < 2; k++) {
    out.steer[k] = run.steer ? run.steer[2 * i + k] + f * (run.steer[2 * j + k] - run.steer[2 * i + k]) : 0;
  }
}

// ---- outlines of our own, in m -----------------------------------------------------------------------
// Each is a list of points (first moved to, the rest joined); built once per car into Path2D.

function smooth(points, closed = true) {
  const path = new Path2D();
  const n = points.length;
  const mid = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const first = closed ? mid(points[n - 1], points[0]) : points[0];
  path.moveTo(...first);
  for (let i = 0; i < n; i++) {
    const here = points[i];
    const next = closed ? mid(here, points[(i + 1) % n]) : i + 1 < n ? mid(here, points[i + 1]) : here;
    path.quadraticCurveTo(here[0], here[1], next[0], next[1]);
  }
  if (closed) path.closePath();
  return path;
}

function straight(points, closed = true) {
  const path = new Path2D();
  points.forEach((point, i) => (i ? path.lineTo(...point) : path.moveTo(...point)));
  if (closed) path.closePath();
  return path;
}

function mirrored(points) {
  return [...points, ...points.map(([x, y]) => [-x, y]).reverse()];
}

function outlines(car) {
  return car.body === "open-wheel" ? openWheel(car) : closedBody(car);
}

function openWheel(car) {
  const { front: f, rear: r, wheelbase: w, radius } = car;
  const up = radius[0] / 0.29;
  const outer = car.front_track / 2 + car.width[0] * 0.35;
  const inner = car.rear_track / 2 - car.width[2] * 0.65;
  const tub = mirrored([
    [0.07, -(f + 0.26 * w)], [0.13, -(f + 0.2 * w)], [0.17, -f], [0.24, -(f - 0.16 * w)], [0.31, -(f - 0.3 * w)],
    [0.36, -(f - 0.4 * w)], [0.66, -(f - 0.46 * w)], [0.68, -(f - 0.56 * w)], [0.6, -(r + 0.2 * w)],
    [0.34, -(r + 0.04 * w)], [0.18, -(r - 0.1 * w)],
  ]);
  const plan = smooth(tub);
  const wings = new Path2D();
  wings.roundRect(-outer, -(f + 0.29 * w), 2 * outer, 0.09 * w, 0.05);
  wings.roundRect(-inner, -(r - 0.06 * w), 2 * inner, 0.11 * w, 0.04);
  const planInk = new Path2D();
  planInk.ellipse(0, -(f - 0.43 * w), 0.23, 0.36, 0, 0, 2 * Math.PI);
  planInk.moveTo(0.13, -(f - 0.47 * w));
  planInk.arc(0, -(f - 0.47 * w), 0.13, 0, 2 * Math.PI);
  planInk.moveTo(0, -(f - 0.62 * w));
  planInk.lineTo(0, -(r - 0.02 * w));
  for (let k = 0; k < 4; k++) {
    const hub = (Math.abs(car.y[k]) - car.width[k] * 0.4) * Math.sign(car.y[k]);
    const root = (k < 2 ? 0.17 : 0.27) * Math.sign(car.y[k]);
    for (const along of [0.16, -0.16]) {
      planInk.moveTo(-hub, -car.x[k]);
      planInk.lineTo(-root, -(car.x[k] + along));
    }
  }
  const [low, lowRear] = car.floor;
  const side = smooth([
    [-(f + 0.27 * w), -0.2 * up], [-(f + 0.2 * w), -0.33 * up], [-(f - 0.02 * w), -0.47 * up],
    [-(f - 0.26 * w), -0.6 * up], [-(f - 0.33 * w), -0.6 * up], [-(f - 0.36 * w), -0.5 * up],
    [-(f - 0.5 * w), -0.5 * up], [-(f - 0.52 * w), -0.9 * up], [-(f - 0.6 * w), -0.93 * up],
    [-(r + 0.12 * w), -0.62 * up], [-(r - 0.12 * w), -0.42 * up], [-(r - 0.12 * w), -0.26 * up],
    [-(r + 0.03 * w), -lowRear], [-(r + 0.1 * w), -lowRear], [-(f - 0.2 * w), -low], [-(f - 0.14 * w), -low],
    [-(f - 0.06 * w), -0.17 * up], [-(f + 0.14 * w), -0.15 * up],
  ]);
  const sideInk = new Path2D();
  sideInk.moveTo(-(f - 0.455 * w) + 0.13, -0.66 * up);
  sideInk.arc(-(f - 0.455 * w), -0.66 * up, 0.13, 0, 2 * Math.PI);
  const sideWings = new Path2D();
  sideWings.roundRect(-(f + 0.29 * w), -0.24 * up, 0.1 * w, 0.16 * up, 0.03);
  sideWings.roundRect(-(r - 0.05 * w), -0.92 * up, 0.13 * w, 0.26 * up, 0.03);
  sideInk.moveTo(-(r - 0.07 * w), -0.48 * up);
  sideInk.lineTo(-(r - 0.1 * w), -0.66 * up);
  const axle = (rearAxle) => {
    const floor = rearAxle ? lowRear : low;
    const path = smooth(mirrored([
      [0.12, -(rearAxle ? 0.78 : 0.52) * up], [0.2, -(rearAxle ? 0.6 : 0.5) * up], [rearAxle ? 0.3 : 0.22, -0.4 * up],
      [rearAxle ? 0.34 : 0.24, -floor - 0.06], [rearAxle ? 0.3 : 0.2, -floor],
    ]));
    const wing = new Path2D();
    if (rearAxle) wing.roundRect(-inner, -0.92 * up, 2 * inner, 0.06, 0.02);
    else wing.roundRect(-outer, -0.13 * up, 2 * outer, 0.045, 0.02);
    return { body: path, wings: wing, ink: new Path2D() };
  };
  return {
    plan: { body: plan, wings, ink: planInk },
    side: { body: side, wings: sideWings, ink: sideInk },
    axles: [axle(false), axle(true)],
    nose: 0.3 * w, tail: 0.19 * w, top: 0.95 * up, root: [0.22, 0.3],
  };
}

function closedBody(car) {
  const { front: f, rear: r, wheelbase: w, radius } = car;
  const wide = Math.max(car.front_track + car.width[0], car.rear_track + car.width[2]) / 2 + 0.03;
  const roof = Math.min(Math.max(2.4 * car.cg_height, 1.04), 1.6);
  const nose = 0.31 * w, tail = 0.29 * w;
  const plan = smooth(mirrored([
    [wide * 0.5, -(f + nose)], [wide * 0.93, -(f + nose * 0.88)], [wide, -(f + nose * 0.2)], [wide * 0.985, -(f - 0.3 * w)],
    [wide * 0.985, -(r + 0.35 * w)], [wide, -(r + 0.05 * w)], [wide * 0.97, -(r - tail * 0.8)], [wide * 0.6, -(r - tail)],
  ]));
  const planInk = new Path2D();
  planInk.addPath(smooth(mirrored([
    [wide * 0.35, -(f - 0.22 * w)], [wide * 0.8, -(f - 0.27 * w)], [wide * 0.7, -(f - 0.46 * w)], [wide * 0.25, -(f - 0.43 * w)],
  ])));
  planInk.addPath(smooth(mirrored([
    [wide * 0.25, -(r + 0.16 * w)], [wide * 0.7, -(r + 0.19 * w)], [wide * 0.78, -(r - 0.03 * w)], [wide * 0.3, -(r - 0.05 * w)],
  ])));
  for (const s of [1, -1]) {
    planInk.moveTo(s * wide * 0.42, -(f + nose * 0.9));
    planInk.quadraticCurveTo(s * wide * 0.62, -(f + 0.02 * w), s * wide * 0.78, -(f - 0.2 * w));
    planInk.moveTo(s * wide * 0.72, -(f - 0.48 * w));
    planInk.lineTo(s * wide * 0.72, -(r + 0.2 * w));
  }
  const [low, lowRear] = car.floor;
  const arch = (k) => radius[k] + 0.075;
  const waist = roof * 0.66;
  const side = new Path2D();
  side.moveTo(-(f + nose), -(low + 0.1));
  side.quadraticCurveTo(-(f + nose * 1.02), -waist * 0.72, -(f + nose * 0.8), -waist * 0.82);
  side.quadraticCurveTo(-(f + nose * 0.2), -waist * 1.0, -(f - 0.24 * w), -waist * 1.08);
  side.quadraticCurveTo(-(f - 0.42 * w), -roof, -(f - 0.56 * w), -roof);
  side.quadraticCurveTo(-(r + 0.2 * w), -roof, -(r - 0.04 * w), -waist * 1.16);
  side.quadraticCurveTo(-(r - tail * 0.6), -waist * 1.08, -(r - tail * 0.94), -waist * 1.03);
  side.quadraticCurveTo(-(r - tail * 1.03), -waist * 0.7, -(r - tail * 0.97), -(lowRear + 0.12));
  side.lineTo(-(r - arch(2)), -(lowRear + 0.06));
  side.arc(-r, -radius[2], arch(2), Math.asin((radius[2] - lowRear - 0.06) / arch(2)), Math.PI - Math.asin((radius[2] - lowRear) / arch(2)), true);
  side.lineTo(-(f - arch(0)), -low);
  side.arc(-f, -radius[0], arch(0), Math.asin((radius[0] - low) / arch(0)), Math.PI - Math.asin((radius[0] - low - 0.06) / arch(0)), true);
  side.closePath();
  const sideInk = smooth([
    [-(f - 0.3 * w), -waist * 1.06], [-(f - 0.44 * w), -roof * 0.95], [-(f - 0.58 * w), -roof * 0.95],
    [-(r + 0.2 * w), -roof * 0.95], [-(r + 0.05 * w), -waist * 1.12], [-(r + 0.2 * w), -waist * 1.06],
  ]);
  sideInk.moveTo(-(f - 0.58 * w), -roof * 0.95);
  sideInk.lineTo(-(f - 0.6 * w), -low - 0.1);
  const axle = (rearAxle) => {
    const floor = rearAxle ? lowRear : low;
    return {
      body: smooth(mirrored([
        [wide * 0.5, -roof], [wide * 0.68, -roof * 0.97], [wide * 0.84, -waist * 1.04], [wide, -waist], [wide, -waist * 0.45],
        [wide * 0.97, -floor], [wide * 0.5, -floor],
      ])),
      wings: new Path2D(),
      ink: smooth(mirrored([[wide * 0.46, -roof * 0.95], [wide * 0.62, -roof * 0.93], [wide * 0.76, -waist * 1.05], [wide * 0.4, -waist * 1.04]])),
    };
  };
  return {
    plan: { body: plan, wings: new Path2D(), ink: planInk },
    side: { body: side, wings: new Path2D(), ink: sideInk },
    axles: [axle(false), axle(true)],
    nose, tail, top: roof, root: [wide * 0.42, wide * 0.42],
  };
}

// ---- the view ----------------------------------------------------------------------------------------

const INKS = {
  ink: ["--fp-ink", "#22272e"], soft: ["--fp-ink-soft", "#5b6470"], paper: ["--fp-paper", "#ffffff"],
  line: ["--fp-line", "#c9d0d8"], a: ["--fp-a", "#5b6470"], b: ["--fp-b", "#0b6b4b"], warn: ["--fp-warn", "#96347e"],
  fl: ["--fp-fl", "#14539a"], fr: ["--fp-fr", "#14539a"], rl: ["--fp-rl", "#a8410d"], rr: ["--fp-rr", "#a8410d"],
};
const CORNER_INKS = ["fl", "fr", "rl", "rr"];

class CarPicture {
  constructor(root, { name = "Car", rate = "0.25", side = false, height = 0, onCursor = () => {} } = {}) {
    if (!document.getElementById("fp-car-style")) {
      const style = document.createElement("style");
      style.id = "fp-car-style";
      style.textContent = STYLE;
      document.head.append(style);
    }
    root.classList.add("fp-car");
    root.setAttribute("role", "group");
    root.setAttribute("aria-label", name);
    root.innerHTML = MARKUP;
    const find = (selector) => root.querySelector(selector);
    this.root = root;
    this.name = name;
    this.height = height;
    this.onCursor = onCursor;
    this.canvas = find(".fp-car-picture");
    this.canvas.setAttribute("aria-label", `${name}, not computed yet`);
    this.strip = find(".fp-car-strip");
    this.context = this.canvas.getContext("2d");
    this.spoken = find("[aria-live]");
    this.phaseBar = find(".fp-car-phases");
    this.slider = find("input[type=range]");
    this.output = find("output");
    this.button = find(".fp-car-play");
    this.two = find(".fp-car-two");
    this.rateSelect = find(".fp-car-rate");
    this.loopBox = find(".fp-car-loop");
    this.motionSelect = find(".fp-car-motion");
    this.arrangement = find(".fp-car-arrangement");
    this.rateSelect.value = rate;
    this.arrangement.value = side ? "side" : "overlay";
    this.data = null;
    this.time = 0;
    this.playing = false;
    this.visible = true;
    this.frame = 0;
    this.inks = {};
    this.instants = [emptyInstant(), emptyInstant()];
    this.wordsAt = -1e9;
    this.inksAt = -1e9;
    this.emittedAt = -1e9;
    this.tick = (now) => this.step(now);
    this.listen();
    this.resize();
  }

  listen() {
    const off = new AbortController();
    const on = (target, name, does) => target.addEventListener(name, does, { signal: off.signal });
    on(this.button, "click", () => (this.playing ? this.pause() : this.play()));
    on(this.slider, "input", () => {
      this.pause();
      this.moveTo(Number(this.slider.value));
    });
    for (const control of [this.rateSelect, this.loopBox]) on(control, "change", () => this.draw());
    for (const control of [this.motionSelect, this.arrangement]) on(control, "change", () => this.resize());
    on(this.root, "keydown", (event) => this.key(event));
    on(window, "keydown", (event) => this.pageKey(event));
    on(document, "visibilitychange", () => this.wake());
    const sized = new ResizeObserver(() => this.resize());
    sized.observe(this.root);
    const seen = new IntersectionObserver((entries) => {
      this.visible = entries[entries.length - 1].isIntersecting;
      this.wake();
    });
    seen.observe(this.canvas);
    const themed = new MutationObserver(() => this.recolour());
    for (const element of [document.documentElement, document.body]) {
      themed.observe(element, { attributes: true, attributeFilter: ["class", "style", "data-theme"] });
    }
    on(matchMedia("(prefers-color-scheme: dark)"), "change", () => this.recolour());
    this.stop = () => {
      off.abort();
      for (const observer of [sized, seen, themed]) observer.disconnect();
      cancelAnimationFrame(this.frame);
    };
  }

  /** Show other runs; the cursor stays where it is if it lies in the event. */
  setRuns(sent) {
    const car = placed(sent.car);
    const time = floats(sent.time);
    const runs = sent.runs.slice(0, 2).map((run) => decodedRun(run, time, car));
    const steered = Math.max(...runs.map((run) => run.steered));
    const sameCar = this.data && JSON.stringify(this.data.sentCar) === JSON.stringify(sent.car);
    this.data = {
      car, time, runs, phases: sent.phases ?? [], units: sent.units, sentCar: sent.car,
      shape: sameCar ? this.data.shape : outlines(car),
      full: fullScale(Math.max(...runs.map((run) => run.heaviest))),
      liveliest: Math.max(...runs.map((run) => run.liveliest)),
      sunk: Math.max(...runs.map((run) => run.sunk)),
      steer: steered > 0.01 && steered * STEER < 0.7 ? STEER : 1,
    };
    this.start = time[0];
    this.end = time[time.length - 1];
    if (this.time < this.start || this.time > this.end) this.time = this.start;
    this.slider.min = this.start;
    this.slider.max = this.end;
    this.two.hidden = runs.length < 2;
    this.two.style.display = runs.length < 2 ? "none" : "";
    this.showPhases();
    this.wordsAt = -1e9;
    this.resize();
    this.say();
  }

  showPhases() {
    const { phases } = this.data;
    const key = JSON.stringify(phases);
    if (key === this.phaseKey) return;
    this.phaseKey = key;
    this.phaseBar.replaceChildren(
      ...phases.map((phase) => {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = phase.name;
        button.title = `${phase.name}: ${phase.start.toFixed(2)} to ${phase.end.toFixed(2)} s`;
        button.style.flexGrow = Math.max(phase.end - phase.start, 0.01);
        button.addEventListener("click", () => {
          this.pause();
          this.moveTo(phase.start);
        });
        return button;
      }),
    );
    this.phaseBar.style.display = phases.length ? "" : "none";
    this.phaseShown = -2;
  }

  // ---- playing ----

  play() {
    if (!this.data || this.playing) return;
    if (this.time >= this.end - 1e-6) this.time = this.start;
    this.playing = true;
    this.button.textContent = "Pause";
    this.wake();
  }

  pause() {
    if (!this.playing) return;
    this.playing = false;
    this.button.textContent = "Play";
    cancelAnimationFrame(this.frame);
    this.wordsAt = -1e9;
    this.draw();
    this.tell(true);
    this.say();
  }

  wake() {
    cancelAnimationFrame(this.frame);
    this.before = null;
    if (this.playing && this.visible && !document.hidden) this.frame = requestAnimationFrame(this.tick);
    else if (this.visible) this.draw();
  }

  step(now) {
    this.frame = requestAnimationFrame(this.tick);
    const passed = this.before === null ? 0 : Math.min(now - this.before, 100) / 1000;
    this.before = now;
    this.time += passed * Number(this.rateSelect.value);
    if (this.time >= this.end) {
      if (!this.loopBox.checked) {
        this.time = this.end;
        this.pause();
        return;
      }
      this.time = this.start + ((this.time - this.start) % Math.max(this.end - this.start, 1e-3));
    }
    this.draw(now);
    this.tell(false, now);
  }

  /** Move the cursor without telling anybody: for charts that hold the same cursor. */
  setTime(time) {
    if (!this.data) return;
    if (this.playing) {
      this.playing = false;
      this.button.textContent = "Play";
      cancelAnimationFrame(this.frame);
    }
    this.time = Math.min(Math.max(time, this.start), this.end);
    this.wordsAt = -1e9;
    this.draw();
  }

  moveTo(time) {
    this.setTime(time);
    this.tell(true);
    this.say();
  }

  tell(always, now = performance.now()) {
    if (!always && now - this.emittedAt < 33) return;
    this.emittedAt = now;
    this.onCursor(this.time);
  }

  key(event) {
    if (!this.data || event.ctrlKey || event.metaKey || event.altKey) return;
    const target = event.target;
    const native = target.tagName === "SELECT" || (target.tagName === "INPUT" && target.type !== "range");
    if (native || (target.tagName === "BUTTON" && (event.key === " " || event.key === "Enter"))) return;
    const steps = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1 }[event.key];
    if (event.key === " ") this.playing ? this.pause() : this.play();
    else if (steps) this.stepBy(steps * (event.shiftKey ? 10 : 1));
    else if (event.key === "Home") this.moveTo(this.start);
    else if (event.key === "End") this.moveTo(this.end);
    else if (event.key === "[" || event.key === "]") this.phaseBy(event.key === "]" ? 1 : -1);
    else return;
    event.preventDefault();
  }

  /** Keys pressed where nothing on the page waits for them; a slider in hand has no use for Space and brackets. */
  pageKey(event) {
    if (event.defaultPrevented || !this.visible) return;
    const own = event.target.closest?.("input, select, textarea, button, a[href], summary, [contenteditable], [tabindex]:not([tabindex='-1'])");
    const slider = own?.tagName === "INPUT" && own.type === "range";
    if (!own || (slider && [" ", "[", "]"].includes(event.key))) this.key(event);
  }

  stepBy(count) {
    const { time } = this.data;
    const near = this.index() + (this.part > 0.5 ? 1 : 0);
    this.pause();
    this.moveTo(time[Math.min(Math.max(near + count, 0), time.length - 1)]);
  }

  phaseBy(count) {
    const { phases } = this.data;
    if (!phases.length) return;
    const to = Math.min(Math.max(this.phase() + count, 0), phases.length - 1);
    this.pause();
    this.moveTo(phases[to].start);
  }

  phase() {
    const { phases } = this.data;
    for (let i = phases.length - 1; i >= 0; i--) if (this.time >= phases[i].start - 1e-6) return i;
    return -1;
  }

  /** Sample at or before the cursor; `part` is how far it is to the next. */
  index() {
    const { time } = this.data;
    let low = 0, high = time.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (time[middle] <= this.time) low = middle;
      else high = middle;
    }
    this.part = high > low ? Math.min(Math.max((this.time - time[low]) / (time[high] - time[low]), 0), 1) : 0;
    return low;
  }

  // ---- words ----

  /** Numbers change ten times a second while playing: to be read, not to flicker. */
  refreshWords(now) {
    if (this.playing && now - this.wordsAt < 100) return;
    this.wordsAt = now;
    const { runs } = this.data;
    const [force, length, speed] = ["N", "mm", "km/h"].map((unit) => inUnit(this.data.units[unit]));
    for (let n = 0; n < runs.length; n++) {
      const at = this.instants[n], words = at.words;
      const first = this.instants[0];
      for (let k = 0; k < 4; k++) {
        words.loads[k] = `${force(at.loads[k])} ${force.unit}`;
        const more = force(at.loads[k]) - force(first.loads[k]);
        words.against[k] = n ? `A ${force(first.loads[k])}${more ? ` (${more < 0 ? "−" : "+"}${Math.abs(more)})` : ""}` : "";
        const travel = length(at.travel[k] * 1000), { unit } = length;
        words.travel[k] = travel === 0 ? `0 ${unit}` : travel > 0 ? `bump ${travel} ${unit}` : `rebound ${-travel} ${unit}`;
        words.briefTravel[k] = travel === 0 ? `0 ${unit}` : travel > 0 ? `↑ ${travel} ${unit}` : `↓ ${-travel} ${unit}`;
        words.gap[k] = `${Math.max(0, length(this.gap(at, k) * 1000))} ${unit} up`;
      }
      words.a = `${Math.hypot(at.ax, at.ay).toFixed(1)} m/s²`;
      words.speed = `${speed(at.speed * 3.6)} ${speed.unit}`;
      words.body = `heave ${amount(length(at.heave * 1000), length.unit, "up", "down", length.digits)}, pitch ${amount(at.pitch * 57.2958, "°", "nose down", "nose up", 2)}`;
      words.briefRoll = amount(at.roll * 57.2958, "°", "left up", "right up", 2);
      words.roll = `roll ${words.briefRoll}`;
    }
    this.output.firstChild.textContent = `${this.time.toFixed(3)} s`;
    const shown = this.phase();
    if (shown !== this.phaseShown) {
      this.phaseShown = shown;
      this.output.lastChild.textContent = this.data.phases[shown]?.name ?? "";
      [...this.phaseBar.children].forEach((button, i) => (i === shown ? button.setAttribute("aria-current", "true") : button.removeAttribute("aria-current")));
    }
  }

  gap(at, k) {
    return at.wheel[k] - at.road[k] - this.data.car.sunk[k];
  }

  /** Tell who cannot see it, once the cursor rests. */
  say() {
    clearTimeout(this.saying);
    this.saying = setTimeout(() => {
      if (!this.data || this.playing) return;
      const phase = this.data.phases[this.phase()];
      const told = this.data.runs.map((run, n) => {
        const at = this.instants[n];
        const loads = CORNERS.map((name, k) => `${name} ${at.off[k] ? "off the ground" : at.words.loads[k]}, ${at.words.travel[k]}`);
        return `${run.label}: ${loads.join("; ")}; ${at.words.body}, ${at.words.roll}.`;
      });
      const text = `${this.time.toFixed(3)} s${phase ? `, ${phase.name}` : ""}. ${told.join(" ")}`;
      this.canvas.setAttribute("aria-label", `${this.name} at ${text}`);
      this.slider.setAttribute("aria-valuetext", `${this.time.toFixed(3)} seconds${phase ? `, ${phase.name}` : ""}`);
      if (this.root.contains(document.activeElement)) this.spoken.textContent = text;
    }, 400);
  }

  // ---- sizes and colours ----

  resize() {
    const width = Math.floor(this.root.clientWidth);
    if (!width) return;
    this.motion = this.fittingMotion();
    if (this.data) this.motionSelect.firstElementChild.textContent = `fitting, ×${this.fittest()}`;
    this.panels = this.laidOut(width);
    const height = Math.max(...this.panels.map((panel) => panel.bottom));
    const ratio = window.devicePixelRatio || 1;
    if (this.canvas.width !== Math.round(width * ratio) || this.canvas.height !== Math.round(height * ratio)) {
      this.canvas.width = Math.round(width * ratio);
      this.canvas.height = Math.round(height * ratio);
      this.canvas.style.height = `${height}px`;
    }
    this.size = { width, height, ratio };
    this.recolour();
  }

  fittingMotion() {
    const asked = Number(this.motionSelect.value);
    return asked || (this.data ? this.fittest() : 1);
  }

  fittest() {
    const { liveliest: most, sunk } = this.data;
    const fits = FACTORS.filter((factor) => factor * most <= ROOM && (factor <= 5 || factor * sunk <= 1));
    return fits.length ? fits[fits.length - 1] : 1;
  }

  recolour() {
    this.inksAt = -1e9;
    this.draw();
    this.drawStrip();
  }

  readInks(now) {
    if (now - this.inksAt < 1000) return;
    this.inksAt = now;
    const style = getComputedStyle(this.root);
    for (const [name, [variable, otherwise]] of Object.entries(INKS)) {
      this.inks[name] = style.getPropertyValue(variable).trim() || otherwise;
    }
    this.inks.paper = style.getPropertyValue("--fp-card").trim() || this.inks.paper;
    if (this.family === style.fontFamily) return;
    this.family = style.fontFamily;
    const font = (weight, size) => `${weight} ${size}px ${this.family}`;
    this.fonts = { title: font(400, 12), note: font(400, 12), bold: font(600, 12), load: font(650, 18), corner: font(700, 13) };
  }

  /** Where each view of each panel goes; a panel shows one run, or B with A's outline over it. */
  laidOut(width) {
    const runs = this.data ? this.data.runs.length : 1;
    const apart = runs === 2 && this.arrangement.value === "side";
    if (!apart) return [this.panel(0, 0, width, runs - 1, runs === 2 ? 0 : -1, runs === 2 ? "B, with A's outline" : "")];
    const labels = this.data.runs.map((run) => run.label);
    if (width >= WIDE) {
      const half = (width - 2 * GAP) / 2;
      return [this.panel(0, 0, half, 0, -1, labels[0]), this.panel(half + 2 * GAP, 0, half, 1, -1, labels[1])];
    }
    const first = this.panel(0, 0, width, 0, -1, labels[0]);
    return [first, this.panel(0, first.bottom + 2 * GAP, width, 1, -1, labels[1])];
  }

  panel(x, y, width, run, ghost, title) {
    const top = y + (title ? 22 : 0);
    const panel = { x, y, width, run, ghost, title };
    const height = this.height || Math.min(Math.max(width * 0.56, 320), 440);
    if (width >= ROW && height < 0.42 * width) {
      const plan = Math.min(2 * LABELS + 0.63 * (height - 24), 0.42 * width), axle = Math.max(width * 0.23, 205);
      const side = width - plan - axle - 2 * GAP;
      panel.plan = { x, y: top, w: plan, h: height };
      panel.side = { x: x + plan + GAP, y: top, w: side, h: height };
      panel.axles = [0, 1].map((n) => ({ x: x + width - axle, y: top + (n * height) / 2, w: axle, h: height / 2, low: true }));
      panel.bottom = top + height;
    } else if (width >= WIDE) {
      const plan = Math.min(width * 0.42, 380);
      const right = x + plan + GAP, rest = width - plan - GAP;
      const side = height * 0.54;
      panel.plan = { x, y: top, w: plan, h: height };
      panel.side = { x: right, y: top, w: rest, h: side };
      panel.axles = [0, 1].map((n) => ({ x: right + (n * (rest + GAP)) / 2, y: top + side, w: (rest - GAP) / 2, h: height - side }));
      panel.bottom = top + height;
    } else {
      const plan = width < 330 ? 330 : Math.min(Math.max(1.6 * (width - 2 * LABELS) + 34, 290), 360), side = Math.min(width * 0.46, 190), axle = Math.min(width * 0.46, 165);
      panel.plan = { x, y: top, w: width, h: plan };
      panel.side = { x, y: top + plan + 6, w: width, h: side - 6 };
      panel.axles = [0, 1].map((n) => ({ x: x + (n * (width + GAP)) / 2, y: top + plan + side, w: (width - GAP) / 2, h: axle }));
      panel.bottom = top + plan + side + axle;
    }
    return panel;
  }

  // ---- drawing ----

  draw(now = performance.now()) {
    if (!this.data || !this.size || !this.visible) return;
    this.readInks(now);
    const i = this.index();
    this.data.runs.forEach((run, n) => fillInstant(this.instants[n], run, this.data.car, i, this.part));
    this.refreshWords(now);
    this.slider.value = this.time;
    const c = this.context;
    c.setTransform(this.size.ratio, 0, 0, this.size.ratio, 0, 0);
    c.clearRect(0, 0, this.size.width, this.size.height);
    c.lineJoin = c.lineCap = "round";
    for (const panel of this.panels) {
      if (panel.title) this.panelTitle(panel);
      this.drawPlan(panel);
      this.drawSide(panel);
      this.drawAxle(panel, 0);
      this.drawAxle(panel, 1);
    }
  }

  panelTitle(panel) {
    const c = this.context, y = panel.y + 14;
    const key = (x, run) => {
      const ghost = panel.ghost === run;
      c.strokeStyle = c.fillStyle = ghost ? this.inks.a : this.inks.ink;
      c.globalAlpha = ghost ? 0 : 0.2;
      c.fillRect(x + 1, y - 10, 12, 11);
      c.globalAlpha = 1;
      c.lineWidth = 1.6;
      c.setLineDash(ghost ? [4, 3] : []);
      c.strokeRect(x + 1, y - 10, 12, 11);
      c.setLineDash([]);
    };
    if (panel.ghost < 0) {
      key(panel.x, panel.run);
      this.text(panel.title, panel.x + 18, y, "bold", this.inks.ink);
    } else {
      key(panel.x, 1);
      this.text(this.data.runs[1].label, panel.x + 18, y, "bold", this.inks.ink);
      const next = panel.x + 34 + c.measureText(this.data.runs[1].label).width;
      key(next, 0);
      this.text(`${this.data.runs[0].label} dashed`, next + 18, y, "bold", this.inks.ink);
    }
  }

  text(words, x, y, font, color, align = "left", halo = false) {
    const c = this.context;
    c.font = this.fonts[font];
    c.textAlign = align;
    if (halo) {
      c.strokeStyle = this.inks.paper;
      c.lineWidth = 4;
      c.strokeText(words, x, y);
    }
    c.fillStyle = color;
    c.fillText(words, x, y);
  }

  // From above, nose up: left wheels on the left.
  drawPlan(panel) {
    const c = this.context, { car, shape } = this.data;
    const rect = panel.plan, at = this.instants[panel.run];
    const patch = PATCH * Math.min(car.front_track, car.rear_track);
    const long = car.wheelbase + Math.max(shape.nose, patch / 2 + 0.1) + Math.max(shape.tail, patch / 2);
    const across = car.track + patch;
    const beside = Math.min((rect.w - 2 * LABELS) / across, (rect.h - 24) / long);
    const ahead = Math.max(0.8 * shape.nose, patch / 2), behind = Math.max(0.8 * shape.tail, patch / 2);
    const stacked = Math.min((rect.w - 6) / across, (rect.h - 132) / (car.wheelbase + ahead + behind));
    const outside = 1.1 * beside >= stacked;
    const s = Math.max(outside ? beside : stacked, 10);
    const x0 = rect.x + rect.w / 2;
    const y0 = outside
      ? rect.y + 20 + (rect.h - 24) / 2 + ((Math.max(shape.nose, patch / 2) - Math.max(shape.tail, patch / 2)) / 2 + (car.front + car.rear) / 2) * s
      : rect.y + 76 + (ahead + car.front) * s;
    const steer = this.data.steer > 1 ? `, steer ×${this.data.steer}` : "";
    this.text(`${rect.w < 310 ? "Area is load" : "From above: area is load"}${steer}`, rect.x, rect.y + 12, "note", this.inks.soft);
    this.text(at.words.speed, rect.x + rect.w, rect.y + 12, "bold", this.inks.ink, "right");
    c.save();
    c.translate(x0, y0);
    c.scale(s, s);
    this.planRoad(panel.run, car.front + ahead, car.rear - behind, s);
    this.filled(shape.plan);
    this.edged(shape.plan, s, false);
    for (let k = 0; k < 4; k++) {
      this.planWheel(at, k, s);
      this.planPatch(at, k, s, patch, "fill");
      if (panel.ghost >= 0) this.planPatch(this.instants[panel.ghost], k, s, patch, "ghost");
      this.planPatch(at, k, s, patch, "edge");
    }
    if (panel.ghost >= 0) this.arrow(this.instants[panel.ghost], s, true);
    this.arrow(at, s, false);
    c.restore();
    this.arrowWords(at, x0, y0, s);
    for (let k = 0; k < 4; k++) this.planLabel(panel, at, k, x0, y0, s, outside ? 0 : k < 2 ? ahead : behind, across);
  }

  /** Fill of a body and its wings. */
  filled(part) {
    const c = this.context;
    for (const path of [part.body, part.wings]) {
      c.fillStyle = this.inks.paper;
      c.fill(path);
      c.globalAlpha = 0.08;
      c.fillStyle = this.inks.ink;
      c.fill(path);
      c.globalAlpha = 1;
    }
  }

  /** Edge of it; A's, dashed, is drawn before B's: where they agree only B's is seen. */
  edged(part, s, ghost) {
    const c = this.context;
    c.lineWidth = (ghost ? 1.3 : 1.5) / s;
    c.strokeStyle = ghost ? this.inks.a : this.inks.ink;
    if (ghost) c.setLineDash([5 / s, 4 / s]);
    c.stroke(part.body);
    c.stroke(part.wings);
    c.setLineDash([]);
    if (ghost) return;
    c.lineWidth = 1 / s;
    c.globalAlpha = 0.5;
    c.stroke(part.ink);
    c.globalAlpha = 1;
  }

  planWheel(at, k, s) {
    const c = this.context, { car } = this.data;
    const w = car.width[k], r = car.radius[k];
    c.save();
    c.translate(-car.y[k], -car.x[k]);
    if (k < 2) c.rotate(-at.steer[k] * this.data.steer);
    c.beginPath();
    c.roundRect(-w / 2, -r, w, 2 * r, Math.min(0.07, w / 3));
    c.fillStyle = this.inks.paper;
    c.fill();
    c.globalAlpha = at.off[k] ? 0 : 0.28;
    c.fillStyle = this.inks.ink;
    c.fill();
    c.globalAlpha = 1;
    c.lineWidth = (at.off[k] ? 2.2 : 1.4) / s;
    c.strokeStyle = at.off[k] ? this.inks.warn : this.inks.ink;
    if (at.off[k]) c.setLineDash([4 / s, 4 / s]);
    c.stroke();
    c.setLineDash([]);
    c.restore();
  }

  planPatch(at, k, s, patch, what) {
    const c = this.context, { car, full } = this.data;
    const side = patch * Math.sqrt(Math.max(at.loads[k], 0) / full);
    if (side * s < 1) return;
    const ink = what === "ghost" ? this.inks.a : this.inks[CORNER_INKS[k]];
    c.beginPath();
    c.roundRect(-car.y[k] - side / 2, -car.x[k] - side / 2, side, side, side * 0.14);
    if (what === "fill") {
      c.globalAlpha = 0.34;
      c.fillStyle = ink;
      c.fill();
      c.globalAlpha = 1;
      return;
    }
    c.strokeStyle = ink;
    c.lineWidth = (what === "ghost" ? 1.7 : 2.2) / s;
    if (what === "ghost") c.setLineDash([4 / s, 3 / s]);
    c.stroke();
    c.setLineDash([]);
  }

  /** Kerbs and steps from above: the higher under a wheel's path, the darker. */
  planRoad(n, from, to, s) {
    const c = this.context, run = this.data.runs[n], { car } = this.data;
    if (!run.kerb) return;
    const at = this.instants[n], step = 3 / s;
    c.fillStyle = this.inks.soft;
    for (let side = 0; side < 2; side++) {
      const wide = Math.max(car.width[0], car.width[2]) + 0.3;
      const x = (side ? 1 : -1) * (car.track / 2) - wide / 2;
      for (let along = to; along < from; along += step) {
        const height = this.roadAt(run, side, at.distance + along);
        if (height < 0.004) continue;
        c.globalAlpha = 0.12 + (0.4 * height) / run.kerb;
        c.fillRect(x, -along - step, wide, step);
      }
    }
    c.globalAlpha = 1;
  }

  arrow(at, s, ghost) {
    const c = this.context;
    const size = Math.hypot(at.ax, at.ay);
    if (size < 0.3) return;
    const x = -at.ay * ARROW, y = -at.ax * ARROW;
    const ux = x / (size * ARROW), uy = y / (size * ARROW), head = Math.min(0.2, 0.5 * size * ARROW);
    c.strokeStyle = c.fillStyle = ghost ? this.inks.a : this.inks.ink;
    c.lineWidth = (ghost ? 2 : 3.5) / s;
    if (ghost) c.setLineDash([5 / s, 4 / s]);
    c.beginPath();
    c.moveTo(0, 0);
    c.lineTo(x - 0.8 * head * ux, y - 0.8 * head * uy);
    c.stroke();
    c.setLineDash([]);
    c.beginPath();
    c.moveTo(x, y);
    c.lineTo(x - head * (ux + 0.45 * uy), y - head * (uy - 0.45 * ux));
    c.lineTo(x - head * (ux - 0.45 * uy), y - head * (uy + 0.45 * ux));
    c.closePath();
    if (ghost) c.stroke();
    else c.fill();
    c.beginPath();
    c.arc(0, 0, 4 / s, 0, 2 * Math.PI);
    if (!ghost) c.fill();
  }

  arrowWords(at, x0, y0, s) {
    if (Math.hypot(at.ax, at.ay) < 0.3) return;
    const y = y0 - at.ax * ARROW * s;
    this.text(at.words.a, x0 - 0.6 * at.ay * ARROW * s, at.ax >= -0.5 ? y - 10 : y + 20, "bold", this.inks.ink, "center", true);
  }

  planLabel(panel, at, k, x0, y0, s, apart, across) {
    const { car } = this.data, rect = panel.plan;
    const left = car.y[k] > 0, front = k < 2;
    const lines = panel.ghost >= 0 ? 3 : 2;
    const high = lines === 3 ? 52 : 38;
    const align = left ? "left" : "right", inward = left ? 1 : -1;
    const x = left ? rect.x : rect.x + rect.w;
    const y = y0 - car.x[k] * s + (apart ? (front ? 6 - high - apart * s : 16 + apart * s) : 12 - high / 2);
    this.text(CORNERS[k], x, y, "corner", this.inks[CORNER_INKS[k]], align);
    this.text(at.words.loads[k], x, y + 20, "load", at.off[k] ? this.inks.warn : this.inks.ink, align, true);
    if (at.off[k]) {
      this.flag(x + inward * 26, y - 5);
      const roomy = apart || rect.w - across * s > 2 * 108;
      this.text(roomy ? "off ground" : "off", x + inward * 34, y, "bold", this.inks.warn, align, true);
    }
    if (panel.ghost >= 0) this.text(at.words.against[k], x, y + 37, "note", this.inks.soft, align, true);
  }

  /** A small triangle: off the ground. */
  flag(x, y) {
    const c = this.context;
    c.beginPath();
    c.moveTo(x, y - 5);
    c.lineTo(x + 5, y + 4);
    c.lineTo(x - 5, y + 4);
    c.closePath();
    c.fillStyle = this.inks.warn;
    c.fill();
  }

  // From the left: nose to the left.
  drawSide(panel) {
    const c = this.context, { car, shape } = this.data;
    const rect = panel.side, at = this.instants[panel.run], m = this.motion;
    const long = car.wheelbase + Math.max(shape.nose, car.radius[0]) + Math.max(shape.tail, car.radius[2]) + 0.1;
    const high = shape.top + ROOM * 0.9 + 0.3;
    const s = Math.min(rect.w / long, (rect.h - 36) / high);
    const middle = (car.front + shape.nose + car.rear - shape.tail) / 2;
    const x0 = rect.x + rect.w / 2 + middle * s, y0 = rect.y + rect.h - 0.3 * s - 4 - Math.max(rect.h - 36 - high * s, 0) / 2;
    this.text(`From the left, motion ×${m}`, rect.x, rect.y + 12, "note", this.inks.soft);
    this.text(at.words.body, rect.x, rect.y + 28, "bold", this.inks.ink);
    c.save();
    c.beginPath();
    c.rect(rect.x, rect.y, rect.w, rect.h);
    c.clip();
    c.translate(x0, y0);
    c.scale(s, s);
    const from = (x0 - rect.x) / s, to = (x0 - rect.x - rect.w) / s;
    this.sideWheels(at, [1, 3], s, true);
    this.sideBody(at, s, false, false);
    if (panel.ghost >= 0) this.sideBody(this.instants[panel.ghost], s, true, true);
    this.sideBody(at, s, true, false);
    this.road(panel.run, 0, from, to, s);
    if (panel.ghost >= 0) this.sideGhost(this.instants[panel.ghost], s);
    this.sideWheels(at, [0, 2], s, false);
    c.restore();
    for (const k of [0, 2]) {
      if (at.off[k]) this.gapMark(at, k, x0 - car.x[k] * s, y0, s, 20, false);
    }
  }

  sideBody(at, s, edge, ghost) {
    const c = this.context, m = this.motion, { car, shape } = this.data;
    c.save();
    c.translate(0, -car.cg_height - m * at.heave);
    c.rotate(-m * at.pitch);
    c.translate(0, car.cg_height);
    if (edge) this.edged(shape.side, s, ghost);
    else this.filled(shape.side);
    c.restore();
  }

  sideWheels(at, which, s, far) {
    const c = this.context, { car } = this.data, m = this.motion;
    for (const k of which) {
      const r = car.radius[k];
      const x = -car.x[k], y = -(r + m * (at.wheel[k] - car.sunk[k]));
      const off = at.off[k] && !far;
      c.lineWidth = (off ? 2.2 : far ? 1 : 1.4) / s;
      c.strokeStyle = off ? this.inks.warn : far ? this.inks.soft : this.inks.ink;
      // What the road has pressed flat is not drawn.
      const deep = Math.min(Math.max(r - (-y - m * at.road[k]), 0), 0.9 * r);
      const half = Math.acos((r - deep) / r);
      c.beginPath();
      c.arc(x, y, r, Math.PI / 2 + half, Math.PI / 2 - half + 2 * Math.PI);
      c.closePath();
      c.fillStyle = this.inks.paper;
      c.fill();
      if (!far) {
        c.globalAlpha = 0.28;
        c.fillStyle = this.inks.ink;
        c.fill();
        c.globalAlpha = 1;
      }
      if (off) c.setLineDash([4 / s, 4 / s]);
      c.stroke();
      c.setLineDash([]);
      if (far) continue;
      c.beginPath();
      c.arc(x, y, 0.6 * r, 0, 2 * Math.PI);
      c.fillStyle = this.inks.paper;
      c.fill();
      c.lineWidth = 1 / s;
      c.strokeStyle = this.inks[CORNER_INKS[k]];
      c.stroke();
      this.spokes(x, y, r, at);
      if (deep > 0) {
        c.beginPath();
        c.lineWidth = 4 / s;
        c.moveTo(x - r * Math.sin(half), y + r - deep);
        c.lineTo(x + r * Math.sin(half), y + r - deep);
        c.stroke();
      }
    }
  }

  /** Rolling is shown in slow motion only: at speed, spokes would seem to stand or turn back. */
  spokes(x, y, r, at) {
    if (this.playing && Number(this.rateSelect.value) > 0.1) return;
    const c = this.context, turned = -at.distance / r;
    c.beginPath();
    for (let n = 0; n < 5; n++) {
      const angle = turned + (n * 2 * Math.PI) / 5;
      c.moveTo(x + 0.14 * r * Math.cos(angle), y + 0.14 * r * Math.sin(angle));
      c.lineTo(x + 0.56 * r * Math.cos(angle), y + 0.56 * r * Math.sin(angle));
    }
    c.stroke();
  }

  sideGhost(at, s) {
    const c = this.context, { car } = this.data, m = this.motion;
    c.strokeStyle = this.inks.a;
    c.lineWidth = 1.5 / s;
    c.setLineDash([4 / s, 3 / s]);
    for (const k of [0, 2]) {
      const r = car.radius[k], height = r + m * (at.wheel[k] - car.sunk[k]);
      const half = Math.acos(Math.min((height - m * at.road[k]) / r, 1));
      c.beginPath();
      c.arc(-car.x[k], -height, r, Math.PI / 2 + half, Math.PI / 2 - half + 2 * Math.PI);
      c.closePath();
      c.stroke();
    }
    c.setLineDash([]);
  }

  /** The road from the side, by the front wheel's history ahead of where the run began and the rear's behind. */
  road(n, left, from, to, s) {
    const c = this.context, run = this.data.runs[n], at = this.instants[n];
    const trace = (k) => {
      const pixels = Math.ceil((from - to) * s / 1.5);
      c.beginPath();
      for (let p = 0; p <= pixels; p++) {
        const x = from + ((to - from) * p) / pixels;
        const z = this.motion * this.roadAt(run, k, at.distance + x);
        if (p) c.lineTo(-x, -z);
        else c.moveTo(-x, -z);
      }
    };
    trace(left);
    c.lineTo(-to, 0.28);
    c.lineTo(-from, 0.28);
    c.closePath();
    c.fillStyle = this.inks.paper;
    c.fill();
    c.globalAlpha = 0.45;
    c.fillStyle = this.inks.line;
    c.fill();
    c.globalAlpha = 1;
    if (run.road) {
      trace(left + 1);
      c.strokeStyle = this.inks.soft;
      c.lineWidth = 1 / s;
      c.setLineDash([3 / s, 3 / s]);
      c.stroke();
      c.setLineDash([]);
    }
    trace(left);
    c.strokeStyle = this.inks.ink;
    c.lineWidth = 1.6 / s;
    c.stroke();
  }

  /** Road height at a distance from where the centre of gravity began, under the left (0) or right (1). [m] */
  roadAt(run, side, place) {
    if (!run.road) return 0;
    const { car } = this.data;
    const ahead = place >= car.front;
    const k = side + (ahead ? 0 : 2);
    const distance = place - (ahead ? car.front : car.rear);
    const d = run.distance;
    let low = 0, high = d.length - 1;
    if (distance <= d[0]) return run.road[k];
    if (distance >= d[high]) return run.road[4 * high + k];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (d[middle] <= distance) low = middle;
      else high = middle;
    }
    const f = (distance - d[low]) / Math.max(d[high] - d[low], 1e-6);
    return run.road[4 * low + k] + f * (run.road[4 * high + k] - run.road[4 * low + k]);
  }

  gapMark(at, k, x, y0, s, aside, named) {
    const c = this.context, m = this.motion;
    const ground = y0 - m * at.road[k] * s;
    const bottom = ground - m * Math.max(this.gap(at, k), 0) * s;
    c.strokeStyle = this.inks.warn;
    c.lineWidth = 2;
    c.beginPath();
    c.moveTo(x - 9, ground);
    c.lineTo(x + 9, ground);
    c.moveTo(x - 9, bottom);
    c.lineTo(x + 9, bottom);
    c.moveTo(x, ground);
    c.lineTo(x, bottom);
    c.stroke();
    this.flag(x + aside, ground - 6);
    if (named) this.text(at.words.gap[k], x + 1.5 * aside, ground - 3, "bold", this.inks.warn, aside > 0 ? "left" : "right", true);
  }

  // One axle from behind: left wheel on the left.
  drawAxle(panel, n) {
    const c = this.context, { car, shape } = this.data;
    const rect = panel.axles[n], at = this.instants[panel.run], m = this.motion;
    const wide = car.track + Math.max(car.width[0], car.width[2]) + 0.16;
    const high = shape.top + 0.1 + ROOM * 0.6;
    const s = rect.low ? Math.min((rect.w - 132) / wide, (rect.h - 28) / high) : Math.min(rect.w / wide, (rect.h - 54) / high);
    if (s <= 0) return; // no room yet: the page is still being laid out
    const x0 = rect.x + rect.w / 2, y0 = rect.y + rect.h - (rect.low ? 9 : 26);
    this.text(`${n ? "Rear" : "Front"}${rect.low ? "" : " axle"} from behind`, rect.x, rect.y + 12, "note", this.inks.soft);
    if (n === 0 && rect.low) this.text(at.words.briefRoll, rect.x + rect.w, rect.y + 12, "bold", this.inks.ink, "right");
    else if (n === 0) this.text(at.words.roll, rect.x, rect.y + 28, "bold", this.inks.ink);
    c.save();
    c.translate(x0, y0);
    c.scale(s, s);
    this.axleBody(at, n, s, false, false);
    if (panel.ghost >= 0) this.axleBody(this.instants[panel.ghost], n, s, true, true);
    this.axleBody(at, n, s, true, false);
    this.axleRoad(at, n, rect.w / 2 / s, s);
    for (const k of [2 * n, 2 * n + 1]) {
      this.axleLinks(at, k, n, s);
      if (panel.ghost >= 0) this.axleWheel(this.instants[panel.ghost], k, s, true);
      this.axleWheel(at, k, s, false);
    }
    c.restore();
    for (const k of [2 * n, 2 * n + 1]) {
      const x = x0 - car.y[k] * s;
      const left = car.y[k] > 0;
      const brief = rect.low || rect.w < 190, cramped = rect.low || rect.w < 260;
      if (at.off[k]) this.gapMark(at, k, x, y0, s, left ? 17 : -17, !cramped);
      const edge = left ? rect.x : rect.x + rect.w, below = rect.low ? y0 - 7 : rect.y + rect.h - 5;
      const gap = at.off[k] && cramped;
      const words = gap ? at.words.gap[k] : (brief ? at.words.briefTravel : at.words.travel)[k];
      this.text(words, edge, below, gap ? "bold" : "note", gap ? this.inks.warn : this.inks.ink, left ? "left" : "right");
    }
  }

  axleRoad(at, n, half, s) {
    const c = this.context, m = this.motion;
    const l = -m * at.road[2 * n], r = -m * at.road[2 * n + 1];
    c.beginPath();
    c.moveTo(-half, l);
    c.lineTo(-0.25, l);
    c.lineTo(0.25, r);
    c.lineTo(half, r);
    c.lineTo(half, 8 / s);
    c.lineTo(-half, 8 / s);
    c.closePath();
    c.fillStyle = this.inks.paper;
    c.fill();
    c.globalAlpha = 0.45;
    c.fillStyle = this.inks.line;
    c.fill();
    c.globalAlpha = 1;
    c.beginPath();
    c.moveTo(-half, l);
    c.lineTo(-0.25, l);
    c.lineTo(0.25, r);
    c.lineTo(half, r);
    c.strokeStyle = this.inks.ink;
    c.lineWidth = 1.6 / s;
    c.stroke();
  }

  axleBody(at, n, s, edge, ghost) {
    const c = this.context, m = this.motion, { car, shape } = this.data;
    c.save();
    c.translate(0, -car.cg_height - m * (at.heave - at.pitch * car.x[2 * n]));
    c.rotate(m * at.roll);
    c.translate(0, car.cg_height);
    if (edge) this.edged(shape.axles[n], s, ghost);
    else this.filled(shape.axles[n]);
    c.restore();
  }

  axleLinks(at, k, n, s) {
    const c = this.context, { car, shape } = this.data, m = this.motion;
    const side = -Math.sign(car.y[k]), r = car.radius[k];
    const hubX = -car.y[k] - side * car.width[k] * 0.45, hubY = -(r + m * (at.wheel[k] - car.sunk[k]));
    const rise = m * (at.heave - at.pitch * car.x[k]);
    const cos = Math.cos(m * at.roll), sin = Math.sin(m * at.roll);
    c.strokeStyle = this.inks.ink;
    c.lineWidth = 1.3 / s;
    c.beginPath();
    for (const level of [-0.45, 0.45]) {
      const x = side * shape.root[n], y = -(r * (1 + level * 0.8)) + car.cg_height;
      const rootX = cos * x - sin * y, rootY = sin * x + cos * y - car.cg_height - rise;
      c.moveTo(hubX, hubY - level * r);
      c.lineTo(rootX, rootY);
      c.moveTo(rootX + 3 / s, rootY);
      c.arc(rootX, rootY, 3 / s, 0, 2 * Math.PI);
    }
    c.stroke();
  }

  axleWheel(at, k, s, ghost) {
    const c = this.context, { car } = this.data, m = this.motion;
    const r = car.radius[k], w = car.width[k];
    const bottom = -m * (at.wheel[k] - car.sunk[k]);
    const ground = -m * at.road[k];
    const low = Math.min(bottom, ground);
    c.beginPath();
    c.roundRect(-car.y[k] - w / 2, bottom - 2 * r, w, low - bottom + 2 * r, [0.07, 0.07, 0.05, 0.05]);
    if (ghost) {
      c.strokeStyle = this.inks.a;
      c.lineWidth = 1.5 / s;
      c.setLineDash([4 / s, 3 / s]);
      c.stroke();
      c.setLineDash([]);
      return;
    }
    c.fillStyle = this.inks.paper;
    c.fill();
    c.globalAlpha = 0.28;
    c.fillStyle = this.inks.ink;
    c.fill();
    c.globalAlpha = 1;
    c.lineWidth = (at.off[k] ? 2.2 : 1.4) / s;
    c.strokeStyle = at.off[k] ? this.inks.warn : this.inks.ink;
    if (at.off[k]) c.setLineDash([4 / s, 4 / s]);
    c.stroke();
    c.setLineDash([]);
    if (at.off[k]) return;
    c.beginPath();
    c.lineWidth = 4 / s;
    c.strokeStyle = this.inks[CORNER_INKS[k]];
    c.moveTo(-car.y[k] - w / 2, low);
    c.lineTo(-car.y[k] + w / 2, low);
    c.stroke();
  }

  /** Over the slider: when a wheel is off the ground. */
  drawStrip() {
    const none = !this.data || !this.data.runs.some((run) => run.flights.length);
    this.strip.style.display = none ? "none" : "";
    if (none || !this.size) return;
    const width = this.slider.clientWidth, rows = this.data.runs.length, height = 7 * rows + 1;
    this.strip.width = Math.round(width * this.size.ratio);
    this.strip.height = Math.round(height * this.size.ratio);
    this.strip.style.height = `${height}px`;
    this.strip.title = "Where a wheel is off the ground";
    const c = this.strip.getContext("2d");
    c.setTransform(this.size.ratio, 0, 0, this.size.ratio, 0, 0);
    const along = (time) => 8 + ((width - 16) * (time - this.start)) / Math.max(this.end - this.start, 1e-6);
    this.data.runs.forEach((run, n) => {
      for (const flight of run.flights) {
        const x = along(flight.start), w = Math.max(along(flight.end) - x, 2);
        c.fillStyle = rows === 2 && n === 0 ? this.inks.a : this.inks.warn;
        c.fillRect(x, 1 + 7 * n, w, 5);
      }
    });
  }
}

/** What puts a number of a usual unit into the reader's, rounded, with its name beside it. */
function inUnit({ unit, scale, digits }) {
  return Object.assign((value) => Number((value * scale).toFixed(digits)) || 0, { unit, digits });
}

function amount(value, unit, more, less, digits) {
  const size = Math.abs(value).toFixed(digits);
  const space = unit === "°" ? "" : " ";
  return Number(size) === 0 ? `0${space}${unit}` : `${size}${space}${unit} ${value > 0 ? more : less}`;
}

export { CarPicture };

export default {
  template: "<div></div>",
  props: { name: String, link: String, rate: String, side: Boolean, autoplay: Boolean, height: Number, payload: Object },
  emits: ["cursor"],
  mounted() {
    this.picture = new CarPicture(this.$el, {
      name: this.name,
      rate: this.rate,
      side: this.side,
      height: this.height,
      onCursor: (time) => {
        this.$emit("cursor", { time });
        if (this.link) window.dispatchEvent(new CustomEvent("fp-time", { detail: { link: this.link, time, source: this.picture } }));
      },
    });
    this.linked = ({ detail }) => {
      if (this.link && detail.link === this.link && detail.source !== this.picture) this.picture.setTime(detail.time);
    };
    window.addEventListener("fp-time", this.linked);
    if (this.payload) this.setRuns(this.payload);
  },
  beforeUnmount() {
    window.removeEventListener("fp-time", this.linked);
    this.picture.stop();
  },
  watch: {
    payload(sent) {
      if (sent) this.setRuns(sent);
    },
  },
  methods: {
    setRuns(sent) {
      const first = !this.picture.data;
      this.picture.setRuns(sent);
      if (first && this.autoplay && !matchMedia("(prefers-reduced-motion: reduce)").matches) this.picture.play();
    },
    setTime(time) {
      this.picture.setTime(time);
    },
    play() {
      this.picture.play();
    },
    pause() {
      this.picture.pause();
    },
  },
};
