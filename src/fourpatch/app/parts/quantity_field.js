// A number with its unit: a slider to feel it, a field to set it. Emits while the slider moves, at most every 30 ms.
export default {
  template: `
  <div class="fp-quantity" :title="say">
    <label :for="key" class="fp-quantity-label">{{ label }}</label>
    <span class="fp-quantity-line"><input :id="key" type="text" inputmode="decimal" maxlength="60" autocomplete="off" class="fp-field fp-num" :value="text"
      v-bind:aria-invalid="String(!!fault)" v-bind:aria-describedby="key + 'u'" @input="text = $event.target.value" @change="typed"><span :id="key + 'u'" class="fp-soft">{{ unit }}</span></span>
    <input type="range" :aria-label="label + ' [' + unit + ']'" :value="now" :min="from" :max="to" :step="step" @input="slid">
    <p v-if="fault" class="fp-quantity-fault" role="alert">{{ fault }}</p>
  </div>`,
  props: { label: String, unit: String, value: Number, low: Number, high: Number, from: Number, to: Number, step: Number, say: String },
  emits: ["changed", "written"],
  data() {
    // What is being typed is kept apart: the page may be drawn anew between two keys.
    return { now: this.value, text: String(this.value), fault: "", key: `q${Math.random().toString(36).slice(2)}` };
  },
  unmounted() {
    clearTimeout(this.timer);
  },
  methods: {
    typed(event) {
      const value = Number(event.target.value || NaN);
      if (Number.isNaN(value)) {
        this.$emit("written", { text: event.target.value }); // "about 45", "100 mph": read where units are known
        return;
      }
      if (!(value >= this.low && value <= this.high)) {
        this.fault = `${this.low} to ${this.high} ${this.unit}`;
        return;
      }
      this.fault = "";
      this.now = value;
      this.send();
    },
    slid(event) {
      this.fault = "";
      this.now = event.target.valueAsNumber;
      this.text = String(this.now);
      this.timer ??= setTimeout(() => this.send(), 30);
    },
    send() {
      clearTimeout(this.timer);
      this.timer = null;
      this.$emit("changed", { value: this.now });
    },
    refuse(fault) {
      this.fault = fault;
    },
    put(value) {
      this.now = value;
      this.text = String(value);
      this.fault = "";
    },
  },
};
