// A complaint, typed or chosen; what is understood of it stands below while it is typed.
export default {
  template: `
  <form class="fp-complaint" @submit.prevent="ask">
    <label class="fp-complaint-label" :for="name('text')">What does the car do that it should not?</label>
    <div class="fp-complaint-line">
      <input :id="name('text')" class="fp-field" type="text" v-model="text" :maxlength="most" autocomplete="off" spellcheck="false"
             :placeholder="example" :aria-describedby="name('read')" :aria-invalid="String(!ok && text.trim() !== '')" @input="typed" @keydown.enter.prevent="ask">
      <button class="fp-button fp-main" type="submit" :disabled="!ok">Find a cure</button>
    </div>
    <p :id="name('read')" class="fp-complaint-read" :class="{ 'fp-complaint-odd': !ok && text.trim() }" role="status">{{ said }}</p>
    <p v-if="nearest.length" class="fp-row fp-small"><span>Did you mean</span>
      <button v-for="one in nearest" :key="one" type="button" class="fp-button" @click="take(one)">{{ one }}</button></p>
    <fieldset class="fp-complaint-choose"><legend>Or choose</legend>
      <label v-for="choice in choices" :key="choice.key">{{ choice.label }}
        <select class="fp-select" v-model="chosen[choice.key]" @change="choose">
          <option v-for="option in choice.options" :key="option.value" :value="option.value">{{ option.label }}</option>
        </select></label>
    </fieldset>
  </form>`,
  props: { choices: Array, example: String, most: Number, start: String },
  emits: ["typed", "chose", "asked"],
  data() {
    return { text: this.start, said: "", ok: false, nearest: [], chosen: Object.fromEntries(this.choices.map((one) => [one.key, ""])), waiting: null };
  },
  methods: {
    name(part) {
      return `${this.$.uid}-${part}`;
    },
    typed() {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => this.$emit("typed", this.text), 120);
    },
    take(text) {
      this.text = text;
      this.$emit("typed", text);
    },
    choose() {
      this.$emit("chose", { ...this.chosen });
    },
    ask() {
      if (this.text.trim()) this.$emit("asked", this.text);
    },
    put(text) {
      this.text = text;
    },
    // What was read of a text that may be older than the one that stands here now.
    show(reading) {
      if (reading.typed !== this.text) return;
      this.said = reading.said;
      this.ok = reading.ok;
      this.nearest = reading.nearest;
      if (reading.chosen) this.chosen = { ...this.chosen, ...reading.chosen };
    },
  },
};
