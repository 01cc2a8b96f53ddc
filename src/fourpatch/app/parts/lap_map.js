// A track from above, drawn to scale. Speed is drawn by colour and width (slow is wide), balance by colour and dashes.
const floats = (text) => {
  const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
  return new Float32Array(bytes.buffer);
};
const points = (xs, ys, map) => Array.from(xs, (x, k) => map(x, ys[k]));
const drawn = (list, closed) => "M" + list.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L") + (closed ? "Z" : "");

const COARSE = [99, 12, 5, 3.5, 2.5, 2]; // between the hatch lines of a surface, smooth to rough

export default {
  template: `
  <figure class="fp-map" role="group" v-bind:aria-label="'Map of ' + (track ? track.track.name : 'the track')">
    <svg v-if="track" :viewBox="box" class="fp-map-sheet" :class="{ 'fp-map-placing': placing }" @click="put" v-bind:aria-label="'Track from above, ' + Math.round(track.track.length) + ' m'" @pointermove="hover" @pointerleave="leave" ref="sheet">
      <defs>
        <pattern v-for="(step, k) in 5" :key="k" :id="'fp-rough-' + (k + 1)" patternUnits="userSpaceOnUse" :width="coarse(k + 1)" :height="coarse(k + 1)" patternTransform="rotate(35)">
          <line :x1="0" y1="0" :x2="0" :y2="coarse(k + 1)" class="fp-map-rough" :stroke-width="unit * 0.9"/></pattern>
      </defs>
      <path :d="road" class="fp-map-road" :stroke-width="unit"/>
      <g v-for="(one, k) in sections" :key="'s' + k"><path :d="one.path" :style="{ fill: one.fill }"/><title>{{ one.say }}</title></g>
      <g v-for="kerb in kerbs" :key="'k' + kerb.kerb"><path :d="kerb.path" class="fp-map-kerb" :stroke-width="unit * 5" :stroke-dasharray="unit * 3 + ' ' + unit * 1.5"/><title>{{ kerb.say }}</title></g>
      <path v-if="chosenPath" :d="chosenPath" class="fp-map-chosen" :stroke-width="unit * 16"/>
      <path v-for="(run, k) in runs" :key="'r' + k" :d="run.path" :class="'fp-map-line fp-map-' + kind + '-' + run.step" :stroke-width="unit * run.width" :stroke-dasharray="run.dash ? unit * 5 + ' ' + unit * 3 : null"/>
      <path :d="start" class="fp-map-start" :stroke-width="unit * 2.4"/>
      <path :d="arrow" class="fp-map-arrow"/>
      <g v-for="(mark, k) in marks" :key="'m' + k" class="fp-map-mark" :transform="'translate(' + at(mark.x, mark.y).join(' ') + ')'">
        <path :d="sign(mark.sign)" :stroke-width="unit * 1.2"/><title>{{ mark.text }}</title></g>
      <g v-for="corner in corners" :key="'c' + corner.corner" class="fp-map-corner" :class="{ 'fp-map-corner-chosen': corner.corner === chosen }" role="button" tabindex="0"
         v-bind:aria-pressed="String(corner.corner === chosen)" v-bind:aria-label="corner.say" :transform="'translate(' + corner.at.join(' ') + ')'"
         @click="pick(corner.corner)" @keydown.enter.prevent="pick(corner.corner)" @keydown.space.prevent="pick(corner.corner)">
        <rect :x="-unit * (texts[corner.corner] && corner.side < 0 ? 46 : 13)" :y="-unit * 13" :width="unit * (texts[corner.corner] ? 59 : 26)" :height="unit * 26" class="fp-map-touch"/>
        <circle :r="unit * 11" :stroke-width="unit * 1.2"/><text :font-size="unit * 13" text-anchor="middle" dominant-baseline="central">{{ corner.corner }}</text>
        <text v-if="texts[corner.corner]" :x="unit * 15 * corner.side" :text-anchor="corner.side > 0 ? 'start' : 'end'" class="fp-map-text" :font-size="unit * 12" dominant-baseline="central">{{ texts[corner.corner] }}</text>
        <title>{{ corner.say }}</title>
      </g>
      <circle v-if="dot" :cx="dot[0]" :cy="dot[1]" :r="unit * 6" class="fp-map-dot" :stroke-width="unit * 2"/>
    </svg>
    <figcaption v-if="scale" class="fp-map-legend fp-small"><b>{{ scale.title }}</b> <span class="fp-soft">{{ scale.unit }}</span>
      <span v-for="(step, k) in steps" :key="k" class="fp-map-step"><svg width="26" height="10" aria-hidden="true"><line x1="1" y1="5" x2="25" y2="5" :class="'fp-map-line fp-map-' + kind + '-' + step.step" :stroke-width="step.width" :stroke-dasharray="step.dash ? '5 3' : null"/></svg>{{ step.text }}</span>
      <span class="fp-map-step"><svg width="26" height="10" aria-hidden="true"><line x1="1" y1="5" x2="25" y2="5" class="fp-map-kerb" stroke-width="5" stroke-dasharray="3 1.5"/></svg>kerb</span>
      <span v-for="one in surfaces" :key="one.text" class="fp-map-step"><svg width="26" height="12" aria-hidden="true"><rect width="26" height="12" class="fp-map-road"/><rect v-if="one.rough" width="26" height="12" :fill="'url(#fp-rough-' + one.rough + '-key)'"/>
        <defs><pattern :id="'fp-rough-' + one.rough + '-key'" patternUnits="userSpaceOnUse" :width="gap(one.rough)" :height="gap(one.rough)" patternTransform="rotate(35)"><line x1="0" y1="0" x2="0" y2="12" class="fp-map-rough" stroke-width="1"/></pattern></defs></svg>{{ one.text }}</span>
      <span v-for="one in markKinds" :key="one.text" class="fp-map-step"><svg width="14" height="14" viewBox="-7 -7 14 14" aria-hidden="true" class="fp-map-mark"><path :d="plain(one.sign)" stroke-width="1.6"/></svg>{{ one.text }}</span>
    </figcaption>
  </figure>`,
  props: { link: String, placing: Boolean },
  emits: ["chosen", "placed"],
  data() {
    return { track: null, box: "0 0 100 60", unit: 1, road: "", sections: [], kerbs: [], corners: [], start: "", arrow: "", runs: [], scale: null, kind: "speed", steps: [], surfaces: [], chosen: "", chosenPath: "", marks: [], markKinds: [], texts: {}, dot: null };
  },
  created() {
    this.line = null;
    this.onCursor = (event) => {
      if (event.detail.link !== this.link || event.detail.source === this) return;
      this.dot = this.place(event.detail.time);
    };
    window.addEventListener("fp-time", this.onCursor);
  },
  unmounted() {
    window.removeEventListener("fp-time", this.onCursor);
  },
  methods: {
    gap: (step) => COARSE[step],
    coarse(step) {
      return this.unit * COARSE[step];
    },
    at(x, y) {
      return this.turned ? [-y, -x] : [x, -y]; // north up, or turned so that the longer side lies
    },
    setTrack(track) {
      this.track = track;
      this.runs = [];
      this.marks = [];
      this.markKinds = [];
      this.texts = {};
      this.dot = null;
      this.line = null;
      const xs = [...track.left.x, ...track.right.x];
      const ys = [...track.left.y, ...track.right.y];
      const wide = Math.max(...xs) - Math.min(...xs);
      const high = Math.max(...ys) - Math.min(...ys);
      this.turned = high > 1.15 * wide;
      const all = points(xs, ys, this.at);
      const span = (k) => [Math.min(...all.map((p) => p[k])), Math.max(...all.map((p) => p[k]))];
      const [[left, right], [top, bottom]] = [span(0), span(1)];
      this.unit = Math.max((right - left) / 560, (bottom - top) / 330);
      const [beside, above] = [62 * this.unit, 34 * this.unit]; // for numbers with their texts
      this.box = [left - beside, top - above, right - left + 2 * beside, bottom - top + 2 * above].map((v) => v.toFixed(1)).join(" ");
      const edge = (path) => points(path.x, path.y, this.at);
      this.road = drawn([...edge(track.left), ...edge(track.right).reverse()], true);
      this.sections = track.surfaces.map((one) => this.section(one));
      const known = new Map();
      track.surfaces.forEach((one) => known.set(one.surface, Math.min(Math.max(one.coarseness, 0), 4)));
      this.surfaces = [...known].map(([text, rough]) => ({ text: text.startsWith("class") ? `surface ${text}` : text, rough }));
      this.kerbs = track.kerbs.map((one) => ({
        kerb: one.kerb,
        path: drawn(edge(one.middle), false),
        say: `Kerb ${one.kerb}: ${one.shape}, ${Math.round(1000 * one.height)} mm high, ${one.side} edge, ${Math.round(one.start)} to ${Math.round(one.end)} m`,
      }));
      this.corners = track.corners.map((one) => this.corner(one));
      const [l, r] = [this.at(track.left.x[0], track.left.y[0]), this.at(track.right.x[0], track.right.y[0])];
      const beyond = (a, b, share) => [a[0] + share * (a[0] - b[0]), a[1] + share * (a[1] - b[1])];
      const [a, b] = [beyond(l, r, 0.6), beyond(r, l, 0.6)];
      this.start = drawn([a, b], false);
      const next = this.at(track.centre.x[3], track.centre.y[3]);
      const here = this.at(track.centre.x[0], track.centre.y[0]);
      const along = Math.hypot(next[0] - here[0], next[1] - here[1]);
      const [u, v] = [(next[0] - here[0]) / along, (next[1] - here[1]) / along];
      const size = 9 * this.unit;
      this.arrow = drawn([[a[0] + u * size * 1.6, a[1] + v * size * 1.6], [a[0] - v * size * 0.5, a[1] + u * size * 0.5], [a[0] + v * size * 0.5, a[1] - u * size * 0.5]], true);
      this.choose(this.chosen);
    },
    between(start, end, path) {
      const inside = (d) => (end >= start ? d >= start && d <= end : d >= start || d <= end);
      const picked = [];
      const [first, second] = [[], []];
      this.track.distance.forEach((d, k) => inside(d) && (end >= start || d >= start ? first : second).push(k));
      picked.push(...first, ...second);
      return picked.map((k) => this.at(path.x[k], path.y[k]));
    },
    section(one) {
      const rough = Math.min(Math.max(one.coarseness, 0), 4);
      const path = drawn([...this.between(one.start, one.end, this.track.left), ...this.between(one.start, one.end, this.track.right).reverse()], true);
      return { path, fill: rough ? `url(#fp-rough-${rough})` : "none", say: `Surface: ${one.surface}, ${Math.round(one.start)} to ${Math.round(one.end)} m` };
    },
    corner(one) {
      const [x, y] = this.at(one.place[0], one.place[1]);
      const [u, v] = this.at(one.outward[0], one.outward[1]);
      const far = 19 * this.unit;
      return {
        corner: one.corner,
        at: [x + far * u, y + far * v],
        side: u >= 0 ? 1 : -1,
        start: one.start,
        end: one.end,
        apex: one.apex,
        say: `Corner ${one.corner}${one.name ? ", " + one.name : ""}, ${one.direction}, radius ${Math.round(one.radius)} m, ${Math.round(one.length)} m long`,
      };
    },
    setTexts(texts) {
      this.texts = texts;
    },
    setMarks(marks) {
      this.marks = marks;
      const kinds = new Map();
      marks.forEach((mark) => kinds.set(mark.sign, mark.kind));
      this.markKinds = [...kinds].map(([sign, text]) => ({ sign, text }));
    },
    plain(sign, size = 5) {
      const s = size;
      return { cross: `M${-s} ${-s}L${s} ${s}M${-s} ${s}L${s} ${-s}`, triangle: `M0 ${-s}L${s} ${s}L${-s} ${s}Z`, square: `M${-s} ${-s}L${s} ${-s}L${s} ${s}L${-s} ${s}Z` }[sign];
    },
    sign(sign) {
      return this.plain(sign, 3.5 * this.unit);
    },
    setLine(payload) {
      const rows = Object.fromEntries(["x", "y", "station", "values"].map((name) => [name, floats(payload[name])]));
      this.line = { station: rows.station, points: points(rows.x, rows.y, this.at) };
      this.scale = payload.scale;
      this.kind = payload.scale.kind;
      const bounds = payload.scale.bounds;
      const step = (value) => bounds.filter((bound) => value >= bound).length;
      const pen = (k) => (this.kind === "speed" ? { width: 7.5 - k, dash: false } : k < 2 ? { width: 5 - 1.5 * k, dash: true } : { width: k === 2 ? 2 : 3.5 + 1.5 * (k - 3), dash: false });
      const runs = [];
      this.line.points.forEach((point, k) => {
        const here = step(rows.values[k]);
        const last = runs[runs.length - 1];
        if (last) last.points.push(point);
        if (!last || last.step !== here) runs.push({ step: here, points: [point] });
      });
      if (this.track?.track.closed && runs.length) runs[runs.length - 1].points.push(this.line.points[0]);
      this.runs = runs.map((run) => ({ step: run.step, path: drawn(run.points, false), ...pen(run.step) }));
      this.steps = payload.scale.texts.map((text, k) => ({ text, step: k, ...pen(k) }));
    },
    place(station) {
      if (!this.line || station == null) return null;
      const list = this.line.station;
      let [low, high] = [0, list.length - 1];
      while (high - low > 1) {
        const middle = (low + high) >> 1;
        if (list[middle] <= station) low = middle;
        else high = middle;
      }
      return this.line.points[low];
    },
    hover(event) {
      if (!this.line) return;
      const matrix = this.$refs.sheet.getScreenCTM();
      if (!matrix) return;
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      let [best, near] = [-1, (30 * this.unit) ** 2];
      this.line.points.forEach(([x, y], k) => {
        const away = (x - point.x) ** 2 + (y - point.y) ** 2;
        if (away < near) [best, near] = [k, away];
      });
      if (best < 0) return;
      this.dot = this.line.points[best];
      this.tell(this.line.station[best]);
    },
    put(event) {
      if (!this.placing || event.target.closest(".fp-map-corner")) return;
      const matrix = this.$refs.sheet.getScreenCTM();
      if (!matrix) return;
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      const { x, y } = this.track.centre;
      const [px, py] = this.turned ? [-point.y, -point.x] : [point.x, -point.y];
      let [best, near] = [0, Infinity];
      x.forEach((_, k) => {
        const away = (x[k] - px) ** 2 + (y[k] - py) ** 2;
        if (away < near) [best, near] = [k, away];
      });
      const [a, b] = [Math.max(best - 1, 0), Math.min(best + 1, x.length - 1)];
      const [u, v] = [x[b] - x[a], y[b] - y[a]];
      const [dx, dy, long] = [px - x[best], py - y[best], Math.hypot(u, v) || 1];
      const along = Math.max(-1.5, Math.min(1.5, (dx * u + dy * v) / long)); // points are 3 m apart
      this.$emit("placed", { at: Math.max(this.track.distance[best] + along, 0), off: (u * dy - v * dx) / long });
    },
    leave() {
      this.dot = null;
    },
    tell(station) {
      window.dispatchEvent(new CustomEvent("fp-time", { detail: { link: this.link, time: station, source: this } }));
    },
    pick(corner) {
      this.choose(corner);
      this.$emit("chosen", corner);
    },
    choose(corner) {
      this.chosen = corner;
      const found = this.corners.find((one) => one.corner === corner);
      this.chosenPath = found ? drawn(this.between(found.start, found.end, this.track.centre), false) : "";
      if (found) {
        this.tell(found.apex);
        this.dot = this.place(found.apex);
      }
    },
  },
};
