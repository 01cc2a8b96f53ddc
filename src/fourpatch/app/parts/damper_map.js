// The plane of bump and rebound: a heat map with contours of what each pair costs above the best, on logarithmic axes.
const ink = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--fp-${name}`).trim();
const channels = (color) => [1, 3, 5].map((k) => parseInt(color.slice(k, k + 2), 16));
const TICKS = [0.33, 0.5, 0.7, 1, 1.5, 2, 3];
const LEFT = 44, BOTTOM = 40, TOP = 8, RIGHT = 10;

export default {
  template: `
  <div class="fp-map" :class="{ 'fp-map-stale': stale }">
    <canvas ref="canvas" class="fp-map-canvas" tabindex="0" role="img" :aria-label="label" @pointermove="point" @pointerleave="leave" @keydown="key" @focus="read" @blur="leave"></canvas>
    <p class="fp-map-read fp-num" aria-live="polite">{{ told || hint }}</p>
    <ul class="fp-map-signs fp-small">
      <li><svg width="14" height="14" aria-hidden="true"><circle cx="7" cy="7" r="4.5" fill="currentColor"/></svg> as it stands</li>
      <li><svg width="14" height="14" aria-hidden="true"><path d="M7 1.5 12.5 7 7 12.5 1.5 7Z" fill="none" stroke="currentColor" stroke-width="1.5"/></svg> best on the map</li>
      <li><svg width="22" height="14" aria-hidden="true"><path d="M1 7H21" :class="'fp-map-' + (map?.axle || 'front')" fill="none" stroke-width="2.5" :stroke-dasharray="map?.axle === 'rear' ? '6 3' : ''"/></svg> best rebound for each bump</li>
      <li v-if="map?.good"><svg width="22" height="14" aria-hidden="true"><path d="M1 7H21" fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="2 3"/></svg> good ratios of rebound to bump end</li>
    </ul>
    <details v-if="map"><summary class="fp-small">The map as a table</summary>
      <table class="fp-map-table fp-num"><caption class="fp-small">{{ map.name }} [{{ map.unit }}]; down: bump, across: rebound, in multiples of the present damping{{ some }}</caption>
        <thead><tr><th scope="col">bump</th><th v-for="k in shown" :key="k" scope="col">× {{ map.factors[k].toFixed(2) }}</th></tr></thead>
        <tbody><tr v-for="j in shown" :key="j"><th scope="row">× {{ map.factors[j].toFixed(2) }}</th><td v-for="k in shown" :key="k">{{ number(map.values[j][k]) }}</td></tr></tbody></table></details>
  </div>`,
  data() {
    return { map: null, told: "", stale: false, hint: "Point at the map, or move over it with the arrow keys." };
  },
  computed: {
    label() {
      return this.map ? `${this.map.title}. Arrow keys read the map.` : "Damper map, being computed";
    },
    shown() {
      const size = this.map.factors.length;
      const every = size > 9 ? 5 : 1;
      return [...Array(Math.ceil(size / every)).keys()].map((k) => k * every);
    },
    some() {
      return this.map.factors.length > 9 ? " (every fifth; the arrow keys on the map read each)" : "";
    },
  },
  mounted() {
    this.observer = new ResizeObserver(() => this.draw());
    this.observer.observe(this.$refs.canvas);
    this.onLook = () => this.draw();
    window.addEventListener("fp-look", this.onLook);
    this.draw();
  },
  unmounted() {
    this.observer?.disconnect();
    window.removeEventListener("fp-look", this.onLook);
  },
  methods: {
    show(map) {
      this.map = map;
      this.stale = false;
      this.at = this.place = null;
      this.draw();
    },
    markStale(stale) {
      this.stale = stale;
    },
    number(value) {
      return value.toFixed(this.map.decimals);
    },
    least() {
      return Math.min(...this.map.values.flat());
    },
    frame() {
      const { clientWidth: width, clientHeight: height } = this.$refs.canvas;
      return { width, height, x: LEFT, y: TOP, w: width - LEFT - RIGHT, h: height - TOP - BOTTOM };
    },
    // Place of a factor along an axis, 0 to 1.
    along(factor) {
      const { factors } = this.map;
      return Math.log(factor / factors[0]) / Math.log(factors[factors.length - 1] / factors[0]);
    },
    // Value at places 0 to 1, linear between points.
    value(u, v) {
      const last = this.map.factors.length - 1;
      const a = Math.min(Math.max(u, 0), 1) * last, b = Math.min(Math.max(v, 0), 1) * last;
      const i = Math.min(Math.floor(a), last - 1), j = Math.min(Math.floor(b), last - 1);
      const p = a - i, q = b - j, z = this.map.values;
      return (1 - p) * ((1 - q) * z[i][j] + q * z[i][j + 1]) + p * ((1 - q) * z[i + 1][j] + q * z[i + 1][j + 1]);
    },
    shade(above) {
      const steps = [0, ...this.map.levels];
      for (let k = 1; k < steps.length; k += 1) {
        if (above < steps[k]) return (k - 1 + (above - steps[k - 1]) / (steps[k] - steps[k - 1])) / steps.length;
      }
      return steps.length > 1 ? (steps.length - 0.5) / steps.length : 0;
    },
    draw() {
      const canvas = this.$refs.canvas;
      if (!canvas?.clientWidth) return;
      const ratio = devicePixelRatio || 1, f = this.frame();
      canvas.width = Math.round(f.width * ratio);
      canvas.height = Math.round(f.height * ratio);
      const c = canvas.getContext("2d");
      c.setTransform(ratio, 0, 0, ratio, 0, 0);
      c.font = "11px system-ui";
      c.strokeStyle = ink("edge");
      c.lineWidth = 1;
      c.strokeRect(f.x + 0.5, f.y + 0.5, f.w - 1, f.h - 1);
      if (!this.map) return;
      this.heat(c, f);
      this.axes(c, f);
      c.save();
      c.beginPath();
      c.rect(f.x, f.y, f.w, f.h);
      c.clip();
      this.lines(c, f);
      this.labels = [];
      for (const level of this.map.levels) this.contour(c, f, level);
      c.restore();
      this.marks(c, f);
    },
    heat(c, f) {
      const size = 96, picture = new ImageData(size, size);
      const low = channels(ink("card")), high = channels(ink("road")), least = this.least();
      for (let row = 0; row < size; row += 1) {
        for (let column = 0; column < size; column += 1) {
          const t = this.shade(this.value(column / (size - 1), 1 - row / (size - 1)) - least);
          const at = 4 * (row * size + column);
          for (let k = 0; k < 3; k += 1) picture.data[at + k] = low[k] + t * 0.8 * (high[k] - low[k]);
          picture.data[at + 3] = 255;
        }
      }
      const off = document.createElement("canvas");
      off.width = off.height = size;
      off.getContext("2d").putImageData(picture, 0, 0);
      c.imageSmoothingEnabled = true;
      c.drawImage(off, f.x, f.y, f.w, f.h);
    },
    axes(c, f) {
      c.fillStyle = c.strokeStyle = ink("ink-soft");
      c.textBaseline = "top";
      c.textAlign = "center";
      for (const tick of TICKS) {
        const u = this.along(tick === 0.33 ? 1 / 3 : tick), text = tick === 0.33 ? "⅓" : String(tick);
        const x = f.x + u * f.w, y = f.y + (1 - u) * f.h;
        c.fillText(text, Math.min(x, f.x + f.w - 3), f.y + f.h + 6);
        c.textAlign = "right";
        c.textBaseline = "middle";
        c.fillText(text, f.x - 7, Math.min(Math.max(y, f.y + 5), f.y + f.h - 5));
        c.textAlign = "center";
        c.textBaseline = "top";
        c.beginPath();
        c.moveTo(x, f.y + f.h);
        c.lineTo(x, f.y + f.h + 4);
        c.moveTo(f.x, y);
        c.lineTo(f.x - 4, y);
        c.stroke();
      }
      c.fillText("bump damping, × now", f.x + f.w / 2, f.y + f.h + 23);
      c.save();
      c.translate(11, f.y + f.h / 2);
      c.rotate(-Math.PI / 2);
      c.textBaseline = "middle";
      c.fillText("rebound damping, × now", 0, 0);
      c.restore();
    },
    // Marching squares: in each cell a contour is straight; saddles are parted by the middle.
    contour(c, f, level) {
      const z = this.map.values, last = z.length - 1, at = this.least() + level;
      const x = (a) => f.x + (a / last) * f.w, y = (b) => f.y + (1 - b / last) * f.h;
      const cut = (p, q) => (at - p) / (q - p);
      let best = null;
      c.strokeStyle = c.fillStyle = ink("ink");
      c.lineWidth = 0.8;
      c.beginPath();
      for (let i = 0; i < last; i += 1) {
        for (let j = 0; j < last; j += 1) {
          const corners = [z[i][j], z[i + 1][j], z[i + 1][j + 1], z[i][j + 1]];
          const points = [];
          if (corners[0] > at !== corners[1] > at) points.push([i + cut(corners[0], corners[1]), j]);
          if (corners[1] > at !== corners[2] > at) points.push([i + 1, j + cut(corners[1], corners[2])]);
          if (corners[3] > at !== corners[2] > at) points.push([i + cut(corners[3], corners[2]), j + 1]);
          if (corners[0] > at !== corners[3] > at) points.push([i, j + cut(corners[0], corners[3])]);
          if (points.length === 4 && (corners[0] > at) === (corners.reduce((s, v) => s + v) / 4 > at)) points.push(points.shift());
          for (let k = 0; k + 1 < points.length; k += 2) {
            c.moveTo(x(points[k][0]), y(points[k][1]));
            c.lineTo(x(points[k + 1][0]), y(points[k + 1][1]));
            // The number stands where the contour comes nearest to the falling diagonal, away from valley and marks.
            const near = ([u, v]) => Math.hypot(points[k][0] / last - u, points[k][1] / last - v) < 0.09;
            if (near([0.5, 0.5]) || near(this.map.best.map((factor) => this.along(factor)))) continue;
            const off = Math.abs(points[k][0] + points[k][1] - last) + 0.2 * Math.abs(points[k][0] - 0.75 * last);
            const inside = points[k][0] > 0.08 * last && points[k][0] < 0.92 * last && points[k][1] > 0.06 * last && points[k][1] < 0.94 * last;
            if (inside && (!best || off < best.off)) best = { off, a: points[k][0], b: points[k][1] };
          }
        }
      }
      c.stroke();
      if (!best || this.labels.some(([a, b]) => Math.abs(x(a) - x(best.a)) < 34 && Math.abs(y(b) - y(best.b)) < 15)) return;
      this.labels.push([best.a, best.b]);
      const text = `+${level}`, width = c.measureText(text).width;
      c.save();
      c.fillStyle = ink("card");
      c.globalAlpha = 0.8;
      c.fillRect(x(best.a) - width / 2 - 2, y(best.b) - 7, width + 4, 14);
      c.restore();
      c.textAlign = "center";
      c.textBaseline = "middle";
      c.fillText(text, x(best.a), y(best.b));
    },
    lines(c, f) {
      const { factors, valley, axle, good } = this.map;
      const x = (factor) => f.x + this.along(factor) * f.w, y = (factor) => f.y + (1 - this.along(factor)) * f.h;
      c.strokeStyle = ink(axle);
      c.lineWidth = 2.5;
      c.setLineDash(axle === "rear" ? [8, 4] : []);
      c.beginPath();
      factors.forEach((factor, k) => (k ? c.lineTo(x(factor), y(valley[k])) : c.moveTo(x(factor), y(valley[k]))));
      c.stroke();
      c.strokeStyle = ink("ink");
      c.lineWidth = 1.5;
      c.setLineDash([2, 3]);
      const first = factors[0], end = factors[factors.length - 1];
      for (const ratio of good || []) {
        if (!ratio) continue;
        c.beginPath();
        c.moveTo(x(first), y(first * ratio));
        c.lineTo(x(end), y(end * ratio));
        c.stroke();
      }
      c.setLineDash([]);
    },
    marks(c, f) {
      const x = (factor) => f.x + this.along(factor) * f.w, y = (factor) => f.y + (1 - this.along(factor)) * f.h;
      const [bump, rebound] = this.map.best, bx = x(bump), by = y(rebound);
      c.lineWidth = 2;
      c.strokeStyle = ink("ink");
      c.fillStyle = ink("card");
      c.beginPath();
      for (const [dx, dy] of [[0, -7], [7, 0], [0, 7], [-7, 0]]) c.lineTo(bx + dx, by + dy);
      c.closePath();
      c.fill();
      c.stroke();
      c.fillStyle = ink("ink");
      c.strokeStyle = ink("card");
      c.beginPath();
      c.arc(x(1), y(1), 6, 0, 7);
      c.fill();
      c.stroke();
      if (!this.place) return;
      c.strokeStyle = ink("b");
      c.lineWidth = 1.5;
      c.strokeRect(f.x + this.place[0] * f.w - 6, f.y + (1 - this.place[1]) * f.h - 6, 12, 12);
    },
    tell(u, v) {
      const { factors, name, unit } = this.map, span = factors[factors.length - 1] / factors[0];
      const value = this.value(u, v), above = value - this.least();
      this.told = `bump × ${(factors[0] * span ** u).toFixed(2)}, rebound × ${(factors[0] * span ** v).toFixed(2)}: ${name} ${this.number(value)} ${unit}, ${this.number(above)} above the best`;
    },
    point(event) {
      if (!this.map) return;
      const f = this.frame(), u = (event.offsetX - f.x) / f.w, v = 1 - (event.offsetY - f.y) / f.h;
      if (u < 0 || u > 1 || v < 0 || v > 1) return this.leave();
      this.tell(u, v);
    },
    leave() {
      this.told = "";
      this.place = null;
      this.draw();
    },
    read() {
      if (!this.map || !this.$refs.canvas.matches(":focus-visible")) return;
      const last = this.map.factors.length - 1;
      this.at = this.at || [last / 2, last / 2];
      this.place = this.at.map((k) => k / last);
      this.tell(...this.place);
      this.draw();
    },
    key(event) {
      const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] }[event.key];
      if (!move || !this.map) return;
      event.preventDefault();
      const last = this.map.factors.length - 1;
      this.at = (this.at || [last / 2, last / 2]).map((k, n) => Math.min(Math.max(k + move[n], 0), last));
      this.read();
    },
  },
};
