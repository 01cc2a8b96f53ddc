// Numbers with unit, range and meaning; the meaning of the field in hand is written below.
export default {
  template: `
  <div class="fp-form" role="group" v-bind:aria-label="title">
    <div class="fp-form-grid">
      <div v-for="field in fields" :key="field.key" class="fp-form-field" :class="{ 'fp-form-bad': faults[field.key] }">
        <label :for="name(field)">{{ field.label }}</label>
        <span class="fp-form-line"><input type="text" inputmode="decimal" maxlength="60" autocomplete="off" class="fp-field fp-num" :id="name(field)" :value="values[field.key]" :title="field.say"
          v-bind:aria-describedby="name(field) + '-say'" v-bind:aria-invalid="faults[field.key] ? 'true' : null" @focus="told = field" @input="values[field.key] = $event.target.value" @change="typed(field, $event)"/>
          <span class="fp-small fp-soft">{{ field.unit }}</span></span>
        <span :id="name(field) + '-say'" class="fp-hidden">{{ field.say }}</span>
        <span v-if="faults[field.key]" class="fp-form-fault fp-small" role="alert">{{ faults[field.key] }}</span>
      </div>
    </div>
    <p class="fp-small fp-soft fp-form-say" aria-hidden="true">{{ told ? told.label + ": " + told.say : "Choose a field to read what it means." }}</p>
  </div>`,
  props: { title: String, fields: Array },
  emits: ["changed"],
  data() {
    return { values: Object.fromEntries(this.fields.map((field) => [field.key, field.value])), faults: {}, told: null };
  },
  methods: {
    name(field) {
      return `fp-form-${this.title.replaceAll(" ", "-")}-${field.key}`;
    },
    typed(field, event) {
      this.values[field.key] = event.target.value;
      if (event.target.value === "") {
        this.faults = { ...this.faults, [field.key]: `Write a number, ${field.low} to ${field.high} ${field.unit}.` };
        return;
      }
      this.$emit("changed", { key: field.key, value: event.target.value });
    },
    refuse(faults) {
      this.faults = faults;
    },
  },
};
