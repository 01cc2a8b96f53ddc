// What a driver knows of a car, field by field with its unit; what cannot be is said beside its field.
export default {
  template: `
  <form class="fp-brief" @submit.prevent="send">
    <div class="fp-brief-grid">
      <div v-for="field in fields" :key="field.key" class="fp-brief-field" :class="{ 'fp-param-bad': faults[field.key] }">
        <span><label :for="'fp-brief-' + field.key">{{ field.label }}</label><span v-if="field.optional" class="fp-small fp-soft"> (if known)</span></span>
        <select v-if="field.choices" class="fp-select" :id="'fp-brief-' + field.key" v-model="values[field.key]" v-bind:aria-describedby="'fp-brief-say-' + field.key">
          <option v-for="choice in field.choices" :key="choice" :value="choice">{{ choice }}</option></select>
        <span v-else class="fp-brief-line"><input class="fp-field fp-num" :id="'fp-brief-' + field.key" v-model="values[field.key]" :placeholder="field.example" maxlength="80" autocomplete="off" spellcheck="false"
          v-bind:aria-describedby="'fp-brief-say-' + field.key" v-bind:aria-invalid="faults[field.key] ? 'true' : null" /> <span class="fp-small fp-soft">{{ field.unit }}</span></span>
        <span class="fp-small fp-soft" :id="'fp-brief-say-' + field.key">{{ field.say }}</span>
        <span v-if="faults[field.key]" class="fp-param-fault" role="alert">{{ field.label }} {{ faults[field.key] }}</span>
      </div>
    </div>
    <p v-if="faults['']" class="fp-warnbox" role="alert">{{ faults[''] }}</p>
    <div class="fp-row"><button type="submit" class="fp-button fp-main" v-bind:disabled="busy">Make the car</button>
      <span class="fp-small fp-soft" role="status">{{ busy ? "Estimating ..." : "Leave open what you don't know. All else is estimated, and each value says how and how surely." }}</span></div>
  </form>`,
  props: { fields: Array },
  emits: ["made"],
  data() {
    return { values: Object.fromEntries(this.fields.map((field) => [field.key, field.value])), faults: {}, busy: false };
  },
  methods: {
    send() {
      this.busy = true;
      const texts = this.fields.map((field) => {
        const text = String(this.values[field.key] ?? "").trim();
        return [field.key, field.unit && /^[-+]?[\d.,]+$/.test(text) ? `${text} ${field.unit}` : text];
      });
      this.$emit("made", { values: Object.fromEntries(texts) });
    },
    refuse(faults) {
      this.busy = false;
      this.faults = faults;
      this.$nextTick(() => this.$el.querySelector('[aria-invalid="true"]')?.focus());
    },
  },
};
