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
          <component :is="still ? 'div' : 'button'" v-if="cell(row, column)" v-bind="still ? { class: 'fp-still' } : pressed(row, column)"
                  :class="[tone(row, column), { 'fp-cell-fixed': cell(row, column).fixed }]" :title="cell(row, column).say">
            <span class="fp-cell-bar" aria-hidden="true" :style="bar(row, column)"></span>
            <span class="fp-cell-now fp-num">{{ cell(row, column).now }}</span>
            <span class="fp-cell-change fp-num" :class="change(row, column)">{{ cell(row, column).change || "·" }}</span>
          </component>
        </td></tr>
    </tbody>
  </table>`,
  props: { columns: Array, groups: Array, caption: String, choice: String, start: Object, still: Boolean },
  emits: ["chosen"],
  data() {
    return { cells: this.start || {}, busy: String(!this.start), chosen: this.choice };
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
    pressed(row, column) {
      const own = `${row.key}|${column.key}`;
      return { class: "fp-cell", type: "button", "aria-pressed": String(this.chosen === own), onClick: () => this.choose(row, column) };
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
