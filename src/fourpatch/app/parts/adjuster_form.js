// All that a file says of an adjuster; of what a step does, the fields of the chosen kind. Faults stand beside.
export default {
  template: `
  <form class="fp-adjuster fp-stack" @submit.prevent="$emit('keep', { fields: { ...values } })" v-bind:aria-label="title">
    <h3>{{ title }}</h3>
    <div class="fp-brief-grid">
      <div v-for="field in shown" :key="field.key" class="fp-brief-field" :class="{ 'fp-param-bad': faults[field.key] }">
        <label :for="'fp-adjuster-' + field.key">{{ field.label }}</label>
        <select v-if="field.choices" class="fp-select" :id="'fp-adjuster-' + field.key" v-model="values[field.key]" v-bind:aria-describedby="'fp-adjuster-say-' + field.key">
          <option v-for="choice in field.choices" :key="choice" :value="choice">{{ field.words[choice] || choice }}</option></select>
        <input v-else class="fp-field" :id="'fp-adjuster-' + field.key" v-model="values[field.key]" autocomplete="off" spellcheck="false" :list="field.key === 'targets' ? 'fp-adjuster-paths' : null"
          v-bind:aria-describedby="'fp-adjuster-say-' + field.key" v-bind:aria-invalid="faults[field.key] ? 'true' : null" />
        <span class="fp-small fp-soft" :id="'fp-adjuster-say-' + field.key">{{ field.say }}</span>
        <span v-if="faults[field.key]" class="fp-param-fault" role="alert">{{ field.label }} {{ faults[field.key] }}</span>
      </div>
    </div>
    <datalist id="fp-adjuster-paths"><option v-for="path in paths" :key="path" :value="path"></option></datalist>
    <p v-if="faults['']" class="fp-warnbox" role="alert">{{ faults[''] }}</p>
    <div class="fp-row"><button type="submit" class="fp-button fp-main">Save the adjuster</button>
      <button v-if="removable" type="button" class="fp-button" @click="$emit('remove')">Take it out</button>
      <button type="button" class="fp-button" @click="$emit('close')">Close</button>
      <span class="fp-small fp-soft">A saved change is a new revision of the car; nothing is lost.</span></div>
  </form>`,
  props: { title: String, fields: Array, start: Object, paths: Array, removable: Boolean },
  emits: ["keep", "remove", "close"],
  data() {
    return { values: { ...this.start }, faults: {} };
  },
  computed: {
    shown() {
      return this.fields.filter((field) => !field.kinds || field.kinds.includes(this.values["map.kind"]));
    },
  },
  mounted() {
    this.$el.querySelector("input").focus();
  },
  methods: {
    refuse(faults) {
      const seen = new Set(this.shown.map((field) => field.key));
      const other = Object.entries(faults).filter(([key]) => !seen.has(key)).map(([, text]) => text);
      this.faults = other.length ? { ...faults, "": other.join("\n") } : faults;
      this.$nextTick(() => this.$el.querySelector('[aria-invalid="true"]')?.focus());
    },
  },
};
