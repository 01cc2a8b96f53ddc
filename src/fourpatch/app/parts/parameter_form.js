// All numbers of a car, by part of the car: search, change with unit, see where each came from; saved together.
export default {
  template: `
  <div class="fp-params">
    <div class="fp-params-tools fp-row">
      <label class="fp-params-search">Search <input type="search" class="fp-field" v-model="query" placeholder="spring, toe, mass ..." /></label>
      <label class="fp-small"><input type="checkbox" v-model="changedOnly" /> only what I changed</label>
      <label class="fp-small">Origin <select class="fp-select" v-model="source"><option value="">any</option>
        <option v-for="mark in marks" :key="mark.source" :value="mark.source">{{ mark.sign }} {{ mark.word }}</option></select></label>
      <span class="fp-small fp-soft" role="status">{{ found }}</span>
    </div>
    <details v-for="group in shown" :key="group.title" class="fp-params-group" :open="opened(group)" @toggle="toggled(group, $event)">
      <summary><h3>{{ group.title }}</h3> <span class="fp-small fp-soft">{{ group.rows.length }} values{{ count(group) }}</span></summary>
      <template v-for="row in group.rows" :key="row.path">
        <h4 v-if="row.head">{{ row.head }}</h4>
        <div class="fp-param" :class="{ 'fp-param-moved': row.path in typed, 'fp-param-bad': faults[row.path] }">
          <label :for="name(row)" :title="row.path"><span class="fp-hidden">{{ row.place + " " }}</span>{{ row.label }}</label>
          <input :id="name(row)" class="fp-field fp-num" :value="row.path in typed ? typed[row.path] : row.text" :title="row.path" autocomplete="off" spellcheck="false"
            v-bind:aria-describedby="name(row) + '-say'" v-bind:aria-invalid="faults[row.path] ? 'true' : null" @change="type(row, $event)" />
          <span class="fp-param-mark" :title="row.mark.say"><span aria-hidden="true">{{ row.path in typed ? "●" : row.mark.sign }}</span> {{ row.path in typed ? "given, not saved" : row.mark.word }}</span>
          <span :id="name(row) + '-say'" class="fp-param-say">{{ row.meaning }} <span class="fp-param-allowed">{{ row.allowed + ". " }}</span>
            <span v-if="row.path in typed" class="fp-param-was">{{ "Was " + row.text + ". " }}</span><span v-if="row.turned" class="fp-param-turned">{{ row.turned }}</span></span>
          <span v-if="faults[row.path]" class="fp-param-fault" role="alert">{{ row.label }} {{ faults[row.path] }}</span>
        </div>
      </template>
    </details>
    <p v-if="!shown.length" class="fp-soft">Nothing of that name. Search for a part of it: rate, camber, aero.</p>
    <div v-if="changes || general || hints.length" class="fp-params-foot">
      <p v-if="general" class="fp-warnbox" role="alert">{{ general }}</p>
      <p v-for="hint in hints" :key="hint" class="fp-small fp-params-hint"><strong>Odd, but possible:</strong> {{ hint }}</p>
      <div class="fp-row" v-if="changes">
        <button type="button" class="fp-button fp-main" @click="save" v-bind:disabled="bad > 0 || saving">Save {{ changes }} {{ changes === 1 ? "change" : "changes" }}</button>
        <button type="button" class="fp-button" @click="drop">Take back</button>
        <span class="fp-small" role="status">{{ bad ? bad + (bad === 1 ? " value" : " values") + " cannot be: see the text beside" : "A saved change is a new revision; nothing is lost." }}</span>
      </div>
    </div>
  </div>`,
  props: { groups: Array, marks: Array, first: Array },
  emits: ["look", "keep"],
  data() {
    return { all: this.groups, query: "", changedOnly: false, source: "", typed: {}, faults: {}, general: "", hints: this.first, open: { [this.groups[0].title]: true }, saving: false };
  },
  computed: {
    changes() {
      return Object.keys(this.typed).length;
    },
    bad() {
      return Object.keys(this.faults).filter((path) => path in this.typed).length;
    },
    shown() {
      const words = this.query.toLowerCase().split(/\s+/).filter(Boolean);
      const wanted = (row) => words.every((word) => row.find.includes(word)) && (!this.changedOnly || row.path in this.typed) && (!this.source || row.mark.source === this.source);
      return this.all
        .map((group) => {
          let head = "";
          const rows = group.rows.filter(wanted).map((row) => {
            const shown = { ...row, head: row.sub !== head ? row.sub : "" };
            head = row.sub;
            return shown;
          });
          return { title: group.title, rows };
        })
        .filter((group) => group.rows.length);
    },
    narrowed() {
      return Boolean(this.query.trim() || this.changedOnly || this.source);
    },
    found() {
      const count = this.shown.reduce((sum, group) => sum + group.rows.length, 0);
      return this.narrowed ? `${count} found` : `${count} values`;
    },
  },
  methods: {
    name: (row) => `fp-param-${row.path}`,
    opened(group) {
      return this.narrowed || Boolean(this.open[group.title]) || group.rows.some((row) => this.faults[row.path]);
    },
    toggled(group, event) {
      if (!this.narrowed) this.open[group.title] = event.target.open;
    },
    count(group) {
      const moved = group.rows.filter((row) => row.path in this.typed).length;
      return moved ? `, ${moved} changed` : "";
    },
    type(row, event) {
      const text = event.target.value.trim();
      if (!text || text === row.text) {
        delete this.typed[row.path];
        event.target.value = row.text;
      } else this.typed[row.path] = text;
      this.look();
    },
    look() {
      this.$emit("look", { values: { ...this.typed } });
    },
    drop() {
      this.typed = {};
      this.look();
    },
    save() {
      this.saving = true;
      this.$emit("keep", { values: { ...this.typed } });
    },
    tell(faults, hints) {
      const { "": general = "", ...fields } = faults;
      this.faults = fields;
      this.general = general;
      this.hints = hints;
      this.saving = false;
    },
    load(groups, hints) {
      this.all = groups;
      this.typed = {};
      this.tell({}, hints);
    },
  },
};
