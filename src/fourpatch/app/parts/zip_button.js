// A button that sends a zip of the user's machine to the notebook, and tells what came of it.
export default {
  template: `<span><label class="fp-button fp-file" :title="tell">{{ busy ? "Reading ..." : text }}
    <input type="file" class="fp-hidden" accept=".zip" :disabled="busy" @change="send($event)" /></label>
    <span v-if="refused" class="fp-warnbox" role="alert">{{ refused }}</span></span>`,
  props: { text: String, tell: String, address: String },
  emits: ["brought"],
  data: () => ({ refused: "", busy: false }),
  methods: {
    async send(event) {
      const form = new FormData();
      form.append("zip", event.target.files[0]);
      event.target.value = "";
      this.busy = true;
      this.refused = "";
      try {
        const answer = await fetch(this.address, { method: "POST", body: form });
        const told = await answer.json();
        if (answer.ok) this.$emit("brought", told);
        else this.refused = told.message;
      } catch (fault) {
        this.refused = `The zip could not be sent: ${fault.message}. Is the app still running?`;
      }
      this.busy = false;
    },
  },
};
