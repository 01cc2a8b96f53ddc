// Set-ups by pace (upwards is quicker) and one other objective (to the right is better). The plot is one stop of the
// tab key; arrow keys walk the set-ups that no other beats, from left to right.
const LEFT = 58, RIGHT = 14, TOP = 16, BOTTOM = 44, MOST_ROWS = 15;

function ticks(low, high) {
  const raw = (high - low) / 5;
  const size = 10 ** Math.floor(Math.log10(raw));
  const step = size * ([1, 2, 5, 10].find((one) => one * size >= raw) ?? 10);
  const found = [];
  for (let at = Math.ceil(low / step - 1e-9) * step; at <= high + 1e-9 * step; at += step) found.push(at);
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return found.map((at) => ({ at, text: (Math.abs(at) < 1e-9 ? 0 : at).toFixed(places).replace("-", "−") }));
}

export default {
  template: `
  <div class="fp-trade">
    <figure class="fp-trade-plot">
      <label class="fp-small">To the right: <select class="fp-select" v-model="across"><option v-for="name in names.slice(1)" :key="name" :value="name">{{ name }}</option></select></label>
      <svg :viewBox="'0 0 ' + width + ' ' + height" role="group" v-bind:aria-label="pace + ' against ' + across + ': a point for each set-up'" @keydown="key">
        <g class="fp-trade-grid">
          <g v-for="one in xs" :key="'x' + one.at"><line :x1="xAt(one.at)" :x2="xAt(one.at)" :y1="top" :y2="height - bottom" />
            <text :x="xAt(one.at)" :y="height - bottom + 14" text-anchor="middle">{{ one.text }}</text></g>
          <g v-for="one in ys" :key="'y' + one.at"><line :x1="left" :x2="width - right" :y1="yAt(one.at)" :y2="yAt(one.at)" />
            <text :x="left - 6" :y="yAt(one.at) + 4" text-anchor="end">{{ one.text }}</text></g>
        </g>
        <text class="fp-trade-axis" :x="width - right" :y="height - 8" text-anchor="end">{{ across }} [{{ units[across] }}], {{ better }} →</text>
        <text class="fp-trade-axis" :x="12" :y="top" text-anchor="end" transform="rotate(-90 12 16)">{{ pace }} [{{ units.pace }}], quicker →</text>
        <circle v-for="place in beaten" :key="'b' + place" class="fp-trade-beaten" :class="{ 'fp-trade-chosen': place === chosen }" :cx="x(points[place])" :cy="y(points[place])"
          r="3" @click="choose(place)"><title>{{ points[place].moved }}</title></circle>
        <g v-for="place in walk" :key="'w' + place" role="button" :tabindex="place === stop ? 0 : -1" :data-place="place" v-bind:aria-label="said(place)" :aria-pressed="place === chosen"
           class="fp-trade-point" :class="{ 'fp-trade-chosen': place === chosen }" :transform="'translate(' + x(points[place]) + ' ' + y(points[place]) + ')'"
           @click="choose(place)" @focus="choose(place)">
          <title>{{ said(place) }}</title>
          <circle class="fp-trade-touch" r="10" />
          <path v-if="place === 0" class="fp-trade-present" d="M-7 0L0 -7L7 0L0 7Z" />
          <path v-else-if="name(place)" class="fp-trade-pick" d="M0 -8L7 5H-7Z" />
          <circle v-else class="fp-trade-front" r="4.5" />
          <circle v-if="place === held" class="fp-trade-held" r="11" />
        </g>
        <text v-for="one in labels" :key="'l' + one.place" class="fp-trade-label" :x="one.x" :y="one.y" :text-anchor="one.anchor">{{ one.text }}</text>
      </svg>
      <figcaption class="fp-small fp-soft">◆ as it stood when you asked · ▲ a pick · ● no other set-up beats it in everything · small dots: beaten · ring: B now.
        Choose a point, or walk with the arrow keys.</figcaption>
    </figure>
    <div class="fp-trade-side">
      <div class="fp-trade-told" role="status">
        <template v-if="chosen !== null">
          <div class="fp-row"><b>{{ title(chosen) }}</b>
            <button type="button" class="fp-button fp-main" :disabled="chosen === held" @click="take(chosen)">{{ chosen === held ? "B stands here" : "Try it" }}</button></div>
          <p>{{ points[chosen].moved }}</p>
          <p class="fp-num">{{ numbers(chosen) + points[chosen].worked }}</p>
        </template>
      </div>
    </div>
    <div class="fp-trade-all">
      <table class="fp-table fp-trade-table">
        <caption class="fp-hidden">Set-ups that no other beats in everything that counts, quickest first</caption>
        <thead><tr><th scope="col">Set-up</th><th v-for="name in names" :key="name" scope="col" class="fp-num" :class="{ 'fp-soft': !counted.includes(name) }"><span v-html="heads[name]"></span><br />[{{ units[name] }}]</th><th scope="col"><span class="fp-hidden">Do</span></th></tr></thead>
        <tbody><tr v-for="place in rows" :key="place" :class="{ 'fp-trade-row': place === chosen }" @click="choose(place)">
          <th scope="row"><b v-if="label(place)">{{ label(place) }}<br /></b>{{ points[place].moved }}</th>
          <td v-for="what in names" :key="what" class="fp-num" :class="{ 'fp-soft': !counted.includes(what) }">{{ points[place].now[what] }}<br /><span class="fp-small fp-soft">{{ points[place].change[what] }}</span></td>
          <td><button type="button" class="fp-button" :disabled="place === held" v-bind:aria-label="'Try ' + points[place].moved" @click.stop="take(place)">{{ place === held ? "in B" : "Try it" }}</button></td>
        </tr></tbody>
      </table>
      <p v-if="rows.length < walk.length" class="fp-small fp-soft">{{ rows.length }} of {{ walk.length }}; the others are in the plot.</p>
    </div>
  </div>`,
  props: { points: Array, picks: Object, pace: String, units: Object, names: Array, counted: Array, heads: Object, held: Number },
  emits: ["tried"],
  data() {
    return { picked: null, across: "calmness", width: 520, left: LEFT, right: RIGHT, top: TOP, bottom: BOTTOM };
  },
  mounted() {
    const plot = this.$el.querySelector(".fp-trade-plot");
    const fit = () => (this.width = Math.max(plot.clientWidth, 240));
    this.watcher = new ResizeObserver(fit);
    this.watcher.observe(plot);
  },
  unmounted() {
    this.watcher.disconnect();
  },
  computed: {
    chosen() { return this.picked ?? this.picks.calmer ?? this.picks.quicker ?? 0; },
    way() { return this.across === "calmness" ? 1 : -1; }, // of all others less is better
    better() { return { bumps: "more grip", calmness: "calmer", scatter: "more forgiving", "tyre work": "gentler" }[this.across]; },
    height() { return Math.round(Math.min(Math.max(0.66 * this.width, 260), 420)); },
    span() {
      const of = (name, least) => {
        const values = this.points.map((point) => point.at[name]);
        const low = Math.min(...values), high = Math.max(...values);
        const room = Math.max(0.08 * (high - low), least);
        return [low - room, high + room];
      };
      return { x: of(this.across, this.across === "tyre work" ? 1 : 0.02), y: of("pace", 0.01) };
    },
    xs() { return ticks(...this.span.x); },
    ys() { return ticks(...this.span.y); },
    walk() {
      const named = (place) => place === 0 || this.name(place) || place === this.held || this.points[place].front;
      return this.points.map((_, place) => place).filter(named).sort((a, b) => this.way * (this.points[a].at[this.across] - this.points[b].at[this.across]));
    },
    stop() { return this.walk.includes(this.chosen) ? this.chosen : this.walk[0]; },
    beaten() {
      const walked = new Set(this.walk);
      return this.points.map((_, place) => place).filter((place) => !walked.has(place));
    },
    rows() {
      const first = [0, this.picks.calmer, this.picks.quicker].filter((place, at, all) => place !== null && all.indexOf(place) === at);
      const front = this.walk.filter((place) => !first.includes(place)).sort((a, b) => this.points[a].at.pace - this.points[b].at.pace);
      const every = Math.max(1, Math.ceil(front.length / (MOST_ROWS - first.length)));
      return [...first, ...front.filter((_, at) => at % every === 0)];
    },
    labels() {
      const named = [[0, "as asked"], [this.picks.calmer, "calmer"], [this.picks.quicker, "quicker"]];
      return named.filter(([place]) => place !== null).map(([place, text]) => {
        const x = this.x(this.points[place]), y = this.y(this.points[place]), end = x > this.width - 90;
        return { place, text, x: x + (end ? -9 : 9), y: Math.max(y - 10, 12), anchor: end ? "end" : "start" };
      });
    },
  },
  methods: {
    x(point) { return this.xAt(point.at[this.across]); },
    y(point) { return this.yAt(point.at.pace); },
    xAt(value) {
      const [low, high] = this.span.x, share = (value - low) / (high - low);
      return LEFT + (this.way > 0 ? share : 1 - share) * (this.width - LEFT - RIGHT);
    },
    yAt(value) {
      const [low, high] = this.span.y; // less is quicker, and quicker is up
      return TOP + ((value - low) / (high - low)) * (this.height - TOP - BOTTOM);
    },
    name(place) {
      if (place === this.picks.calmer) return "As quick but calmer";
      return place === this.picks.quicker ? "As calm but quicker" : "";
    },
    label(place) {
      return place === 0 ? "Present" : this.name(place);
    },
    title(place) {
      return this.label(place) || (this.points[place].front ? "No other beats it in everything" : "Beaten by another");
    },
    numbers(place) {
      const point = this.points[place];
      const one = (what) => `${what} ${point.now[what]} ${this.units[what]}${point.change[what] ? ` (${point.change[what]})` : ""}`;
      return this.names.map(one).join(" · ");
    },
    said(place) {
      const label = this.label(place);
      return `${label ? label + ": " : ""}${this.points[place].moved}. ${this.numbers(place)}`;
    },
    choose(place) {
      this.picked = place;
    },
    take(place) {
      this.picked = place;
      this.$emit("tried", { place });
    },
    key(event) {
      const at = this.walk.indexOf(this.stop);
      const to = { ArrowRight: at + 1, ArrowUp: at - 1, ArrowLeft: at - 1, ArrowDown: at + 1, Home: 0, End: this.walk.length - 1 }[event.key];
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        this.take(this.stop);
      }
      if (to === undefined) return;
      event.preventDefault();
      this.choose(this.walk[Math.min(Math.max(to, 0), this.walk.length - 1)]);
      this.$nextTick(() => this.$el.querySelector(`[data-place="${this.chosen}"]`).focus());
    },
  },
};
