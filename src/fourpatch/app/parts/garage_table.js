// A row for each setting a car may have: have it, its scale, where it stands, its unit. Faults stand in the row; nothing typed is lost.
const FIELDS = { lowest: "lowest", highest: "highest", step: "step", now: "stands at" };
const KNOBS = {
  one: ["damper"],
  two: ["bump", "rebound"],
  four: ["bump, low speed", "bump, high speed", "rebound, low speed", "rebound, high speed"],
};

export default {
  template: `
  <form class="fp-stack" @submit.prevent="send" aria-label="Garage screen" novalidate>
    <div class="fp-row fp-level">
      <label class="fp-choice fp-small">Knobs on each damper<select class="fp-select" :value="knobs" @change="choose($event.target.value)">
        <option value="none">none</option><option value="one">one, bump and rebound together</option><option value="two">two: bump, rebound</option>
        <option value="four">four: each slow and fast</option><option value="own" v-if="knobs === 'own'">as ticked below</option></select></label>
      <span class="fp-small fp-soft">Tick what your garage screen shows and write the numbers as it shows them. "Not known" in the place of the unit is no shame: the answers then say how unsure they are.</span>
    </div>
    <details class="fp-garage-paste"><summary>Paste lines instead</summary><div class="fp-stack">
      <label class="fp-small fp-soft" for="fp-garage-lines">A setting and its number a line: "front bump 7 of 11", "brake bias 54 %", "rear wing: 3". It is ticked and put into its row.</label>
      <textarea id="fp-garage-lines" class="fp-field" rows="6" maxlength="20000" v-model="lines_text" spellcheck="false"></textarea>
      <div class="fp-row"><button type="button" class="fp-button" @click="paste">Put them in</button><span class="fp-small" role="status">{{ pasted }}</span></div></div></details>
    <div class="fp-scroll"><table class="fp-table fp-garage">
      <caption class="fp-hidden">Settings of the car</caption>
      <thead><tr><th scope="col">Setting</th><th scope="col">Lowest</th><th scope="col">Highest</th><th scope="col">Step</th><th scope="col">Stands at</th><th scope="col">Unit</th></tr></thead>
      <tbody v-for="group in groups" :key="group.name">
        <tr class="fp-garage-group"><th scope="rowgroup">{{ group.title }}</th>
          <td v-for="field in ['lowest', 'highest', 'step']" :key="field"><input class="fp-field fp-num" :aria-label="'All of ' + group.name + ': ' + names[field]" placeholder="all" maxlength="40" autocomplete="off" @change="all(group, field, $event)"/></td>
          <td></td><td><select class="fp-select" :aria-label="'All of ' + group.name + ': unit'" @change="all(group, 'unit', $event)"><option value="">all</option><option v-for="unit in group.units" :key="unit" :value="unit">{{ unit }}</option></select></td></tr>
        <template v-for="line in group.lines" :key="line.row.key">
        <tr :class="{ 'fp-garage-off': !line.row.have, 'fp-garage-bad': faults[line.row.key] }">
          <th scope="row"><label :title="'A higher number: ' + line.more"><input type="checkbox" v-model="line.row.have"/> {{ line.row.key }}</label></th>
          <td v-for="(text, field) in names" :key="field"><input class="fp-field fp-num" v-model="line.row[field]" :aria-label="line.row.key + ' ' + text" :placeholder="field === 'now' ? 'as the car' : ''" maxlength="40" autocomplete="off" spellcheck="false"
            v-bind:aria-invalid="fault(line, field) ? 'true' : null" @input="typed(line)"/></td>
          <td><select class="fp-select" v-model="line.row.unit" :aria-label="line.row.key + ' unit'" v-bind:aria-invalid="fault(line, 'unit') ? 'true' : null" @change="typed(line)"><option v-for="unit in line.units" :key="unit" :value="unit">{{ unit }}</option></select></td>
        </tr>
        <tr v-if="faults[line.row.key]" class="fp-garage-fault"><td colspan="6" role="alert">{{ said(line) }}</td></tr>
        </template>
      </tbody></table></div>
    <p v-if="general" class="fp-warnbox" role="alert">{{ general }}</p>
    <div class="fp-garage-foot fp-row"><button type="submit" class="fp-button fp-main" v-bind:disabled="busy">Keep these settings</button>
      <span class="fp-small" role="status">{{ busy ? "Keeping ..." : status }}</span></div>
  </form>`,
  props: { lines: Array },
  emits: ["keep", "paste"],
  data() {
    return { own: this.lines.map((line) => ({ ...line, row: { ...line.row } })), names: FIELDS, faults: {}, general: "", busy: false, status: "", lines_text: "", pasted: "", away: {}, away_text: "" };
  },
  computed: {
    groups() {
      const found = new Map();
      this.own.forEach((line) => {
        if (!found.has(line.group)) found.set(line.group, { name: line.group, title: line.group[0].toUpperCase() + line.group.slice(1), lines: [], units: [] });
        const group = found.get(line.group);
        group.lines.push(line);
        line.units.forEach((unit) => group.units.includes(unit) || group.units.push(unit));
      });
      return [...found.values()];
    },
    knobs() {
      const has = (names) => (line) => line.row.have === names.includes(line.row.key.replace(/^(front|rear) /, ""));
      const dampers = this.own.filter((line) => line.group === "dampers");
      const kind = Object.keys(KNOBS).find((one) => dampers.every(has(KNOBS[one])));
      return kind || (dampers.every(has([])) ? "none" : "own");
    },
  },
  methods: {
    rows() {
      return this.own.map((line) => ({ ...line.row }));
    },
    fault(line, field) {
      return (this.faults[line.row.key] || {})[field];
    },
    said(line) {
      const own = this.faults[line.row.key];
      return Object.entries(own).map(([field, text]) => `${line.row.key}, ${FIELDS[field] || field} ${text}`.replace(", have ", " ")).join(" ");
    },
    typed(line) {
      line.row.have = true;
      if (this.faults[line.row.key]) {
        const { [line.row.key]: gone, ...left } = this.faults;
        this.faults = left;
      }
    },
    choose(kind) {
      const wanted = KNOBS[kind] || [];
      this.own.forEach((line) => {
        if (line.group === "dampers") line.row.have = wanted.includes(line.row.key.replace(/^(front|rear) /, ""));
      });
    },
    all(group, field, event) {
      const value = event.target.value.trim();
      if (!value) return;
      group.lines.filter((line) => line.row.have && (field !== "unit" || line.units.includes(value))).forEach((line) => (line.row[field] = value));
    },
    sent() {
      return (this.away = Object.fromEntries(this.rows().map((row) => [row.key, row])));
    },
    // What somebody has typed since the rows went away stays.
    merged(own, come) {
      const was = this.away[own.key] || own;
      return Object.fromEntries(Object.entries(come).map(([field, value]) => [field, own[field] === was[field] ? value : own[field]]));
    },
    send() {
      this.busy = true;
      this.status = "";
      this.$emit("keep", { rows: Object.values(this.sent()) });
    },
    paste() {
      this.away_text = this.lines_text;
      this.$emit("paste", { rows: Object.values(this.sent()), text: this.lines_text });
    },
    put(rows, text, unread) {
      const by = Object.fromEntries(rows.map((row) => [row.key, row]));
      this.own.forEach((line) => (line.row = this.merged(line.row, by[line.row.key])));
      this.pasted = text;
      if (this.lines_text === this.away_text) this.lines_text = unread;
    },
    refuse(faults, general) {
      this.busy = false;
      this.faults = faults;
      this.general = general;
      this.$nextTick(() => this.$el.querySelector('[aria-invalid="true"]')?.focus());
    },
    kept(lines, text) {
      this.busy = false;
      this.faults = {};
      this.general = "";
      this.status = text;
      const by = Object.fromEntries(this.own.map((line) => [line.row.key, line.row]));
      this.own = lines.map((line) => ({ ...line, row: by[line.row.key] ? this.merged(by[line.row.key], line.row) : { ...line.row } }));
    },
  },
};
