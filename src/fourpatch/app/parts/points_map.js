// Points in their order, from above: a line, a ring where it begins, a square where it ends, and marks with texts.
const floats = (text) => new Float32Array(Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0)).buffer);

export default {
  template: `
  <figure class="fp-points"><svg :viewBox="box" class="fp-map-sheet" role="img" v-bind:aria-label="title">
    <path :d="path" class="fp-points-line" :stroke-width="unit * 1.5"/>
    <circle :cx="first[0]" :cy="first[1]" :r="unit * 6" class="fp-points-end" :stroke-width="unit * 2"/>
    <rect :x="last[0] - unit * 5" :y="last[1] - unit * 5" :width="unit * 10" :height="unit * 10" class="fp-points-end" :stroke-width="unit * 2"/>
    <g v-for="(mark, k) in placed" :key="k" class="fp-map-mark"><path :d="cross(mark)" :stroke-width="unit * 2.4"/>
      <text v-if="mark.told" :x="mark.at[0] + unit * 12 * mark.side" :y="mark.at[1]" :text-anchor="mark.side > 0 ? 'start' : 'end'" :font-size="unit * 14" dominant-baseline="central" class="fp-points-text">{{ mark.text }}</text></g>
  </svg><figcaption class="fp-small fp-soft">○ where it begins, □ where it ends<span v-if="placed.length">, × where to look</span></figcaption></figure>`,
  props: { title: String, x: String, y: String, marks: Array },
  computed: {
    drawn() {
      const [xs, ys] = [floats(this.x), floats(this.y)];
      return Array.from(xs, (x, k) => [x, -ys[k]]);
    },
    frame() {
      const span = (k) => this.drawn.reduce(([low, high], p) => [Math.min(low, p[k]), Math.max(high, p[k])], [Infinity, -Infinity]);
      return [span(0), span(1)];
    },
    unit() {
      const [[left, right], [top, bottom]] = this.frame;
      return Math.max((right - left) / 560, (bottom - top) / 330, 1e-9);
    },
    box() {
      const [[left, right], [top, bottom]] = this.frame;
      const room = 70 * this.unit;
      return [left - room, top - room / 2, right - left + 2 * room, bottom - top + room].join(" ");
    },
    path() {
      return "M" + this.drawn.map((p) => p.join(" ")).join("L");
    },
    first() {
      return this.drawn[0];
    },
    last() {
      return this.drawn[this.drawn.length - 1];
    },
    placed() {
      const [[left, right]] = this.frame;
      const told = [];
      return this.marks.map((mark) => {
        const at = [mark.x, -mark.y];
        const free = told.every((other) => Math.abs(other[1] - at[1]) > 16 * this.unit || Math.abs(other[0] - at[0]) > 90 * this.unit);
        if (free) told.push(at);
        return { at, text: mark.text, told: free, side: at[0] > 0.5 * (left + right) ? -1 : 1 };
      });
    },
  },
  methods: {
    cross(mark) {
      const [[x, y], s] = [mark.at, 6 * this.unit];
      return `M${x - s} ${y - s}L${x + s} ${y + s}M${x - s} ${y + s}L${x + s} ${y - s}`;
    },
  },
};
