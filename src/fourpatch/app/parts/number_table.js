// Quantities by place or phase: the value with B, and its change against A.
export default {
  template: `
  <table class="fp-numbers" v-bind:aria-busy="busy">
    <caption class="fp-hidden">{{ caption }}</caption>
    <thead><tr><th scope="col"><span class="fp-hidden">Quantity</span></th>
      <th v-for="column in columns" :key="column.key" scope="col" :title="column.say">{{ column.label }}</th></tr></thead>
    <tbody v-for="group in groups" :key="group.label">
      <tr v-if="group.label" class="fp-numbers-group"><th scope="rowgroup" :colspan="columns.length + 1">{{ group.label }}</th></tr>
      <tr v-for="row in group.rows" :key="row.key">
        <th scope="row"><span class="fp-numbers-name" tabindex="0" :title="row.say" :aria-description="row.say">{{ row.label }}</span> <span class="fp-numbers-unit">{{ row.unit }}</span></th>
        <td v-for="column in columns" :key="column.key" class="fp-num" :title="cell(row, column).say">
          {{ cell(row, column).now }} <span class="fp-numbers-change" :class="'fp-change-' + cell(row, column).sense">{{ cell(row, column).change }}</span>
        </td>
      </tr>
    </tbody>
  </table>`,
  props: { columns: Array, groups: Array, caption: String },
  data() {
    return { cells: {}, busy: "true" };
  },
  methods: {
    cell(row, column) {
      return this.cells[`${row.key}|${column.key}`] || {};
    },
    show(cells, sequence) {
      this.cells = cells;
      this.busy = "false";
      if (sequence) this.$nextTick(() => requestAnimationFrame(() => performance.mark(`fp-shown-${sequence}`)));
    },
  },
};
