// A button that reads text files of the user's machine; nothing is sent before it is chosen.
export default {
  template: `<span><label class="fp-button fp-file" :title="tell">{{ text }}
    <input type="file" class="fp-hidden" :accept="accept" :multiple="several" @change="read($event)" /></label>
    <span v-if="refused" class="fp-small" role="alert">{{ refused }}</span></span>`,
  props: { text: String, tell: String, accept: String, largest: Number, several: Boolean },
  emits: ["read"],
  data: () => ({ refused: "" }),
  methods: {
    async read(event) {
      const files = [...event.target.files];
      event.target.value = "";
      if (!files.length) return;
      const large = files.find((file) => file.size > this.largest);
      this.refused = large ? `${large.name} is larger than ${this.largest / 1e6} MB, which no such file is.` : "";
      if (large) return;
      const bytes = await Promise.all(files.map((file) => file.arrayBuffer()));
      const base64 = (buffer) => {
        let text = "";
        new Uint8Array(buffer).forEach((byte) => (text += String.fromCharCode(byte)));
        return btoa(text);
      };
      this.$emit("read", { files: files.map((file, k) => ({ name: file.name, content: base64(bytes[k]) })) });
    },
  },
};
