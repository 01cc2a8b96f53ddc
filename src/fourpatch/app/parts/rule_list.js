// Rules of thumb as rows that open. The verdict stands as a sign, a colour and a word.
const VERDICTS = ["agrees", "depends", "disagrees", "hardly matters", "does not apply"];
const SIGNS = {
  agrees: "M3 8.5l3.2 3.2L13 4.8",
  depends: "M3 6.2c1.7-1.8 3.3-1.8 5 0s3.3 1.8 5 0M3 10.2c1.7-1.8 3.3-1.8 5 0s3.3 1.8 5 0",
  disagrees: "M4 4l8 8M12 4l-8 8",
  "hardly matters": "M8 3.5v5.5M8 12.2v0.3",
  "does not apply": "M3.5 8h9",
};

export default {
  template: `
  <div class="fp-rules">
    <div class="fp-row fp-rules-filter" role="group" aria-label="Show rules">
      <label v-for="one in counts" :key="one.verdict" class="fp-rules-pick" :class="'fp-is-' + one.key">
        <input type="checkbox" v-model="picked" :value="one.verdict" />
        <svg viewBox="0 0 16 16" aria-hidden="true"><path :d="signs[one.verdict]" /></svg>
        {{ one.verdict }} <b class="fp-num">{{ one.count }}</b>
      </label>
      <label class="fp-small">System
        <select class="fp-select" v-model="subject"><option value="">all systems</option>
          <option v-for="one in subjects" :key="one" :value="one">{{ one }}</option></select></label>
      <span class="fp-small fp-soft" role="status">{{ shown.length }} of {{ rules.length }} rules</span>
    </div>
    <p v-if="!shown.length" class="fp-soft">No rule is left. Tick a verdict above, or choose all systems.</p>
    <section v-for="group in groups" :key="group.claimed" v-bind:aria-label="group.claimed">
      <h2 class="fp-rules-system">{{ group.claimed }}</h2>
      <details v-for="rule in group.rules" :key="rule.name" class="fp-rule" :class="'fp-is-' + key(rule.verdict)">
        <summary>
          <span class="fp-rule-verdict"><svg viewBox="0 0 16 16" aria-hidden="true"><path :d="signs[rule.verdict]" /></svg>{{ rule.verdict }}</span>
          <span class="fp-rule-said">{{ rule.saying }}</span>
          <span class="fp-rule-size"><b class="fp-num">{{ rule.size || "–" }}</b><br /><span class="fp-small fp-soft">{{ rule.place }}<template v-if="rule.hardly && rule.size"><br />hardly measurable</template></span></span>
          <span class="fp-rule-why fp-small"><span>{{ rule.why }}</span></span>
        </summary>
        <div class="fp-rule-open">
          <template v-if="rule.claims.length">
            <p>{{ rule.change }}</p>
            <div v-for="claim in rule.claims" :key="claim.says" class="fp-rule-claim">
              <table class="fp-table">
                <caption><b>{{ claim.says }}</b>: {{ claim.verdict }}<br />
                  <span class="fp-small fp-soft">{{ claim.about }}: {{ claim.meaning }}</span></caption>
                <thead><tr v-if="claim.rows[0].length === 4"><th scope="col">Where</th><th scope="col" class="fp-num">As said</th>
                  <th scope="col" class="fp-num">The other way</th><th scope="col" v-html="heads.outcome"></th></tr>
                  <tr v-else><th scope="col">Where</th><th scope="col" class="fp-num">Highest over lowest ratio</th><th scope="col">Than on the smoother</th></tr></thead>
                <tbody><tr v-for="row in claim.rows" :key="row[0]"><th scope="row">{{ row[0] }}</th>
                  <td v-for="(text, place) in row.slice(1)" :key="place" :class="{ 'fp-num': place < row.length - 2 }">{{ text }}</td></tr></tbody>
              </table>
            </div>
            <p v-if="rule.depends"><b>What it depends on.</b> {{ rule.depends }}</p>
            <p><b>Why.</b> {{ rule.full }}</p>
          </template>
          <p v-else>{{ rule.full }}</p>
          <p class="fp-small fp-soft"><span class="fp-chip">{{ rule.subject }}</span> <span class="fp-chip">{{ rule.source }}</span> <span v-html="heads.mark"></span></p>
        </div>
      </details>
    </section>
  </div>`,
  props: { rules: Array, heads: Object },
  data: () => ({ picked: [...VERDICTS], subject: "", signs: SIGNS }),
  computed: {
    counts() {
      return VERDICTS.map((verdict) => ({
        verdict,
        key: this.key(verdict),
        count: this.rules.filter((rule) => rule.verdict === verdict).length,
      })).filter((one) => one.count);
    },
    subjects() {
      return [...new Set(this.rules.map((rule) => rule.subject))];
    },
    shown() {
      return this.rules.filter(
        (rule) => this.picked.includes(rule.verdict) && (!this.subject || rule.subject === this.subject),
      );
    },
    groups() {
      return [...new Set(this.rules.map((rule) => rule.claimed))]
        .map((claimed) => ({ claimed, rules: this.shown.filter((rule) => rule.claimed === claimed) }))
        .filter((group) => group.rules.length);
    },
  },
  methods: {
    key: (verdict) => verdict.split(" ")[0],
  },
};
