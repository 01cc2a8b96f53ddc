// Phase by corner speed, then bumps and kerb: the present value, and its change against A. Each cell can be chosen.
export default {
  template: `
  <table class="fp-phases" v-bind:aria-busy="busy">
    <caption class="fp-hidden">{{ caption }}</caption>
    <thead><tr><th scope="col"><span class="fp-hidden">Phase</span></th>
      <th v-for="column in columns" :key="column.key" scope="col">{{ column.label }}<span class="fp-phases-note">{{ column.note }}</span></th></tr></thead>
    <tbody v-for="group in groups" :key="group.key">
      <tr v-if="group.heads" class="fp-phases-group"><th scope="col">{{ group.label }}</th><th v-for="head in group.heads" :key="head" scope="col">{{ head }}</th></tr>
      <tr v-for="row in group.rows" :key="row.key"><th scope="row" :title="row.say">{{ row.label }}<span v-if="row.note" class="fp-phases-note">{{ row.note }}</span></th>
        <td v-for="column in columns" :key="column.key">
          <button v-if="cell(row, column)" type="button" class="fp-cell" :class="[tone(row, column), { 'fp-cell-fixed': cell(row, column).fixed }]"
                  v-bind:aria-pressed="String(chosen === row.key + '|' + column.key)" :title="cell(row, column).say" @click="choose(row, column)">
            <span class="fp-cell-bar" aria-hidden="true" :style="bar(row, column)"></span>
            <span class="fp-cell-now fp-num">{{ cell(row, column).now }}</span>
            <span class="fp-cell-change fp-num" :class="change(row, column)">{{ cell(row, column).change || "·" }}</span>
          </button>
        </td></tr>
    </tbody>
  </table>`,
  props: { columns: Array, groups: Array, caption: String, choice: String },
  emits: ["chosen"],
  data() {
    return { cells: {}, busy: "true", chosen: this.choice };
  },
  methods: {
    cell(row, column) {
      return this.cells[`${row.key}|${column.key}`];
    },
    tone(row, column) {
      return `fp-cell-${this.cell(row, column).tone || "even"}`;
    },
    bar(row, column) {
      const share = Math.max(-1, Math.min(1, this.cell(row, column).share || 0));
      return share >= 0 ? { left: "50%", width: `${50 * share}%` } : { right: "50%", width: `${-50 * share}%` };
    },
    change(row, column) {
      const sense = this.cell(row, column).sense;
      return sense ? `fp-change-${sense}` : "";
    },
    choose(row, column) {
      this.chosen = `${row.key}|${column.key}`;
      this.$emit("chosen", { row: row.key, column: column.key });
    },
    show(cells, sequence) {
      this.cells = cells;
      this.busy = "false";
      if (sequence) this.$nextTick(() => requestAnimationFrame(() => performance.mark(`fp-shown-${sequence}`)));
    },
  },
};
