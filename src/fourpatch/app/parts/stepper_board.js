// All adjusters of a car as steppers: front and rear side by side, what belongs to the whole car below.
const THROTTLE = 30; // ms between two inputs sent while a slider is dragged

export default {
  template: `
  <div class="fp-board" :class="{ 'fp-board-off': disabled }" @keydown="pressed">
    <div class="fp-board-head" aria-hidden="true"><span></span><span>Front</span><span>Rear</span></div>
    <div v-for="row in rows" :key="row.key" class="fp-board-row" :class="{ 'fp-board-first': row.first, 'fp-board-three': !row.label, 'fp-board-told': row === inHand }">
      <template v-if="row.label"><div class="fp-board-label">{{ row.label }} <span class="fp-board-unit">{{ row.unit }}</span></div></template>
      <div v-for="(cell, side) in row.cells" :key="side" class="fp-step" role="group" v-bind:aria-label="cell.label"
           :class="{ 'fp-step-moved': values[cell.name] !== base[cell.name] }" @focusin="tell(cell)" @mouseenter="tell(cell)">
        <div v-if="!row.label" class="fp-step-title" :title="cell.label">{{ cell.label }} <span class="fp-board-unit">{{ cell.scale }}</span></div>
        <div class="fp-step-line">
          <button type="button" tabindex="-1" v-bind:aria-label="cell.label + ': one step down'" :disabled="disabled || values[cell.name] <= cell.lowest"
                  @click="turn(cell, values[cell.name] - cell.step)">−</button>
          <input type="number" class="fp-num" v-bind:aria-label="cell.label + (cell.unit ? ' [' + cell.unit + ']' : '')" :min="cell.lowest" :max="cell.highest"
                 :step="cell.step" :value="typing.name === cell.name ? typing.text : shown(cell)" :disabled="disabled"
                 @input="typing = { name: cell.name, text: $event.target.value }" @change="typed(cell, $event)" @blur="typing = {}" />
          <button type="button" tabindex="-1" v-bind:aria-label="cell.label + ': one step up'" :disabled="disabled || values[cell.name] >= cell.highest"
                  @click="turn(cell, values[cell.name] + cell.step)">+</button>
          <span class="fp-step-physical fp-num">{{ row.label && physical(cell) ? "= " : "" }}{{ physical(cell) }}</span>
        </div>
        <div class="fp-step-track">
          <span class="fp-step-a" :style="{ left: at(cell, base[cell.name]) }" aria-hidden="true"></span>
          <input type="range" v-bind:aria-label="cell.label" :aria-valuetext="spoken(cell)" :min="cell.lowest" :max="cell.highest" :step="cell.step"
                 :value="values[cell.name]" :disabled="disabled" @input="turn(cell, Number($event.target.value))" />
        </div>
      </div>
    </div>
    <div class="fp-board-foot" role="status" aria-live="off">
      <template v-if="told"><b>{{ told.label }}</b> <span class="fp-soft">A {{ number(base[told.name]) }}, now {{ standing(told, values[told.name]) }}. {{ told.say }} {{ steps(told) }}</span>
        <div v-if="hints[told.name]" class="fp-board-hint">{{ hints[told.name] }}</div></template>
      <span v-else class="fp-soft">Move a slider: the car, the loads and the table answer at once. What a step does on this car is said here.</span>
    </div>
  </div>`,
  props: { rows: Array, start: Object, reference: Object, physicals: Object, disabled: Boolean, drawer: String },
  emits: ["turned", "told", "undone", "redone", "found"],
  data() {
    // What is being typed is kept apart: the board may be drawn anew between two keys.
    return { values: { ...this.start }, base: { ...this.reference }, hints: {}, told: null, typing: {} };
  },
  computed: {
    inHand() {
      return this.rows.find((row) => row.cells.includes(this.told)) || this.rows[0];
    },
  },
  created() {
    this.sequence = 0;
    this.waiting = {};
    this.unkept = {}; // adjuster: its position and the turn that put it there, until the notebook has it
    this.timer = null;
  },
  mounted() {
    window.addEventListener("fp-away", this.lay);
    window.addEventListener("fp-back", this.resend);
    this.find();
  },
  unmounted() {
    clearTimeout(this.timer);
    window.removeEventListener("fp-away", this.lay);
    window.removeEventListener("fp-back", this.resend);
  },
  methods: {
    number: (value) => String(Number(value.toFixed(4))),
    // As `standing_at` says it: position 3, but 9 clicks.
    standing(cell, value) {
      return (cell.numbered ? `${cell.unit} ${this.number(value)}` : `${this.number(value)} ${cell.unit}`).trim();
    },
    shown(cell) {
      return this.number(this.values[cell.name]);
    },
    place(cell, value) {
      return Math.round((value - cell.lowest) / cell.step);
    },
    at(cell, value) {
      const share = (value - cell.lowest) / (cell.highest - cell.lowest);
      return `calc(${100 * share}% + ${(0.5 - share) * 12}px)`; // as far as the middle of the handle goes
    },
    physical(cell) {
      const list = this.physicals[cell.name];
      return list && !list.direct ? list.numbers[this.place(cell, this.values[cell.name])] : "";
    },
    spoken(cell) {
      const list = this.physicals[cell.name];
      const value = this.standing(cell, this.values[cell.name]);
      return list && !list.direct ? `${value}, ${list.texts[this.place(cell, this.values[cell.name])]}` : value;
    },
    tell(cell) {
      if (this.told === cell) return;
      this.told = cell;
      this.$emit("told", { name: cell.name });
    },
    // What one step either way is in physical units, and by which share it changes that.
    steps(cell) {
      const list = this.physicals[cell.name];
      const here = this.place(cell, this.values[cell.name]);
      if (!list) return "";
      const one = (place, word) => {
        const value = list.values[place];
        if (value === undefined) return `at the stop ${word === "up" ? "upwards" : "downwards"}`;
        const share = list.values[here] ? 100 * (value / list.values[here] - 1) : NaN;
        return `${word}: ${list.texts[place]}${Number.isFinite(share) ? ` (${share > 0 ? "+" : "−"}${Math.abs(share).toFixed(1)} %)` : ""}`;
      };
      return `One step ${one(here + 1, "up")}, ${one(here - 1, "down")}.`;
    },
    typed(cell, event) {
      const wanted = Number(event.target.value);
      this.typing = {};
      this.turn(cell, Number.isFinite(wanted) && event.target.value !== "" ? wanted : this.values[cell.name]);
      event.target.value = this.shown(cell);
    },
    // Elsewhere the page hears these keys; in a field they are the field's own until it is as it stood.
    pressed(event) {
      if (!(event.ctrlKey || event.metaKey) || event.target.tagName !== "INPUT" || this.typing.name) return;
      const key = event.key.toLowerCase();
      if (key !== "z" && key !== "y") return;
      event.preventDefault();
      this.flush();
      this.$emit(key === "y" || event.shiftKey ? "redone" : "undone");
    },
    turn(cell, wanted) {
      const last = this.place(cell, cell.highest);
      const place = Math.min(Math.max(this.place(cell, wanted), 0), last);
      const value = Number((cell.lowest + place * cell.step).toFixed(9));
      this.tell(cell);
      if (value === this.values[cell.name]) return;
      this.values[cell.name] = value;
      this.waiting[cell.name] = value;
      performance.mark(`fp-turn-${this.sequence + 1}`);
      if (this.timer === null) this.send();
    },
    // Send what still waits, so that what follows finds it.
    flush() {
      clearTimeout(this.timer);
      this.send();
    },
    send() {
      const turned = this.waiting;
      this.waiting = {};
      if (!Object.keys(turned).length) {
        this.timer = null;
        return;
      }
      this.sequence += 1;
      for (const [name, value] of Object.entries(turned)) this.unkept[name] = { value, sequence: this.sequence };
      this.$emit("turned", { values: turned, sequence: this.sequence });
      this.timer = setTimeout(() => this.send(), THROTTLE);
    },
    // From the server: another set-up, reference, or what the engine found a step to do.
    put(values, base, sequence) {
      if (values) this.values = { ...values };
      if (base) this.base = { ...base };
      this.settle(sequence);
    },
    // The turns up to this one are in the notebook, or taken back.
    settle(sequence) {
      for (const [name, one] of Object.entries(this.unkept)) if (one.sequence <= sequence) delete this.unkept[name];
    },
    unsettled() {
      return Object.fromEntries([...Object.entries(this.unkept).map(([name, one]) => [name, one.value]), ...Object.entries(this.waiting)]);
    },
    // The server is away: this tab keeps what the notebook may not have, for itself after a reload.
    lay() {
      const values = this.unsettled();
      if (Object.keys(values).length) sessionStorage.setItem(this.drawer, JSON.stringify(values));
    },
    // It is back and still knows this tab: told twice is no harm.
    resend() {
      sessionStorage.removeItem(this.drawer);
      this.waiting = this.unsettled();
      this.flush();
    },
    // It was started anew: what this tab has kept is told as found.
    find() {
      const kept = sessionStorage.getItem(this.drawer);
      sessionStorage.removeItem(this.drawer);
      if (kept) this.$emit("found", { values: JSON.parse(kept) });
    },
    hint(name, text) {
      this.hints = { [name]: text };
    },
  },
};
