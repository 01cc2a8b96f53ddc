// A search over pages, settings and words: every word typed must begin a word of what is found; names count before meanings.
const MOST = 10;
const KINDS = { page: "page", setting: "setting", word: "word" };
const parts = (text) => text.toLowerCase().split(/[^a-z0-9äöüß]+/).filter(Boolean);

export default {
  template: `
  <div class="fp-finder" role="search"><label for="fp-find" class="fp-hidden">Find a page, a setting or a word</label>
    <input id="fp-find" type="search" class="fp-field" v-model="query" maxlength="80" autocomplete="off" placeholder="for example: rebound, track of my own, balance" @focus="load"/>
    <p class="fp-hidden" role="status">{{ query.trim() ? found.length + " found" : "" }}</p>
    <ul v-if="found.length" class="fp-bare fp-found"><li v-for="one in found" :key="one.kind + one.name">
      <a v-if="one.path" :href="one.path">{{ one.name }}</a><b v-else>{{ one.name }}</b> <span class="fp-chip">{{ kinds[one.kind] }}</span> <span class="fp-small">{{ one.says }}</span></li></ul>
    <p v-else-if="query.trim() && loaded" class="fp-small">Nothing is called so. Try one word of it.</p>
  </div>`,
  props: { known: Array },
  data: () => ({ query: "", words: [], loaded: false, kinds: KINDS }),
  computed: {
    all() {
      return [...this.known, ...this.words].map((one) => ({ ...one, names: parts(one.name), says_parts: parts(one.says) }));
    },
    found() {
      const asked = parts(this.query);
      if (!asked.length) return [];
      const begins = (list, word) => list.some((one) => one.startsWith(word));
      const score = (one) => asked.reduce((sum, word) => (begins(one.names, word) ? sum + 2 : begins(one.says_parts, word) ? sum + 1 : -Infinity), 0);
      return this.all.map((one) => ({ one, score: score(one) - (one.kind === "word" ? 0.5 : 0) })).filter((row) => row.score > 0)
        .sort((a, b) => b.score - a.score || a.one.name.length - b.one.name.length).slice(0, MOST).map((row) => row.one);
    },
  },
  mounted() {
    if (location.hash === "#find") this.$el.querySelector("input").focus();
  },
  methods: {
    async load() {
      if (this.loaded) return;
      const answer = await fetch("/api/words");
      if (!answer.ok) return; // pages and settings are found all the same
      this.words = (await answer.json()).map((one) => ({ kind: "word", name: one.name, says: one.meaning }));
      this.loaded = true;
    },
  },
};
