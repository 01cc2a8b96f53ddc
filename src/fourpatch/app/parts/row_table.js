// Rows of numbers with their changes; the first cell of a row names it and, where rows can be chosen, is a button.
export default {
  template: `
  <table class="fp-rows" :class="{ 'fp-rows-wide': columns.length > 5 }">
    <caption :class="shown ? 'fp-rows-caption' : 'fp-hidden'">{{ caption }}</caption>
    <thead><tr><th v-for="column in columns" :key="column.label" scope="col" :title="column.say" :class="{ 'fp-rows-word': column.word }">{{ column.label }}<span v-if="column.unit" class="fp-rows-unit">{{ column.unit }}</span></th></tr></thead>
    <tbody><tr v-for="row in rows" :key="row.key" :class="{ 'fp-rows-chosen': row.key === chosen }" @click="choosable && pick(row.key)">
      <th scope="row" :title="row.cells[0].say"><button v-if="choosable" type="button" class="fp-rows-name" v-bind:aria-pressed="String(row.key === chosen)" @click.stop="pick(row.key)">{{ row.cells[0].text }}</button><template v-else>{{ row.cells[0].text }}</template></th>
      <td v-for="(cell, k) in row.cells.slice(1)" :key="k" :data-label="columns[k + 1].label + (columns[k + 1].unit ? ' [' + columns[k + 1].unit + ']' : '')" :title="cell.say || columns[k + 1].say" :class="{ 'fp-rows-word': cell.word }">
        <span>{{ cell.text }}</span><span v-if="cell.change" class="fp-rows-change" :class="cell.sense ? 'fp-change-' + cell.sense : ''">{{ cell.change }}</span></td>
    </tr></tbody>
  </table>`,
  props: { caption: String, columns: Array, choosable: Boolean, shown: Boolean },
  emits: ["chosen"],
  data() {
    return { rows: [], chosen: "" };
  },
  methods: {
    show(rows) {
      this.rows = rows;
    },
    choose(key) {
      this.chosen = key;
    },
    pick(key) {
      this.chosen = key;
      this.$emit("chosen", key);
    },
  },
};
