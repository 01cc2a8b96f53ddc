// Lines over time (or another axis) on uPlot; the cursor is shared with every part of the same group.
import uPlot from "fourpatch-uplot";

const ink = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--fp-${name}`).trim();

// Of the legend: the line as it is drawn, for A and B share their inks.
const sample = (chart, k) => {
  const one = chart.series[k], color = one._ink;
  const stops = [];
  let at = 0;
  (one.dash || [1, 0]).forEach((length, part) => stops.push(`${part % 2 ? "transparent" : color} ${at}px ${(at += length)}px`));
  return `repeating-linear-gradient(90deg, ${stops.join(", ")}) 0 50% / 100% ${Math.max(one.width, 1)}px no-repeat`;
};

// A flat line gets a unit of room either way, rather than the library's hundred.
const readable = (chart, low, high) =>
  low === null || low === high ? [(low ?? 0) - 1, (high ?? 0) + 1] : uPlot.rangeNum(low, high, 0.1, true);

const floats = (text) => {
  const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
  const values = new Float32Array(bytes.buffer);
  return values.some(Number.isNaN) ? Array.from(values, (value) => (Number.isNaN(value) ? null : value)) : values;
};

export default {
  template: `<figure class="fp-chart" role="group" :aria-label="label">
    <figcaption class="fp-chart-title"><b>{{ title }}</b> <span class="fp-soft">{{ unit }}</span></figcaption>
    <div ref="plot" class="fp-chart-plot" :class="{ 'fp-chart-empty': empty }" role="img" :aria-label="summary || title"></div>
    <p v-if="stale" class="fp-chart-stale" role="status">{{ stale }}</p></figure>`,
  props: { title: String, unit: String, label: String, series: Array, x: Object, height: Number, link: String, scales: Object },
  emits: ["cursor"],
  data() {
    return { summary: "", stale: "", empty: true };
  },
  mounted() {
    this.data = null;
    this.onTime = (event) => {
      if (event.detail.link !== this.link || event.detail.source === this || !this.chart) return;
      const left = this.chart.valToPos(event.detail.time, "x");
      this.chart.setCursor({ left, top: -10 }, false);
      this.setLegend();
    };
    this.onLook = () => this.make();
    window.addEventListener("fp-time", this.onTime);
    window.addEventListener("fp-look", this.onLook);
    this.observer = new ResizeObserver(() => this.fit());
    this.observer.observe(this.$refs.plot);
    this.make();
  },
  unmounted() {
    window.removeEventListener("fp-time", this.onTime);
    window.removeEventListener("fp-look", this.onLook);
    this.observer?.disconnect();
    this.chart?.destroy();
  },
  methods: {
    setLegend() {
      this.chart.setLegend({ idx: this.chart.posToIdx(this.chart.cursor.left) }, false);
    },
    fit() {
      if (this.chart && this.$refs.plot) this.chart.setSize({ width: this.$refs.plot.clientWidth, height: this.plotHeight() });
    },
    plotHeight() {
      return this.height || 180;
    },
    options() {
      const axis = { stroke: ink("ink-soft"), grid: { stroke: ink("line"), width: 1 }, ticks: { stroke: ink("line") }, font: "11px system-ui" };
      const digits = (value, more) => (value == null ? "–" : `${value.toFixed(more ?? 0)}`);
      return {
        width: this.$refs.plot.clientWidth || 400,
        height: this.plotHeight(),
        padding: [6, 8, 0, 0],
        // A hand near a line has it stand out; a cursor that came from elsewhere is near none.
        cursor: { drag: { x: true, y: false }, focus: { prox: 30, dist: (_, k, at, line, hand) => (hand < 0 ? Infinity : line - hand) } },
        scales: { x: { time: false }, y: { range: readable, ...(this.scales?.y || {}) } },
        legend: { live: true, markers: { width: 0, fill: sample } },
        axes: [
          { ...axis, size: 32, label: this.x?.label, labelSize: 16, labelFont: "11px system-ui", values: (_, ticks) => ticks.map((t) => String(Number(t.toFixed(3)))) },
          { ...axis, size: 52 },
        ],
        series: [
          { label: this.x?.short || "t", value: (_, value) => (value == null ? "–" : `${value.toFixed(this.x?.digits ?? 2)} ${this.x?.unit || "s"}`) },
          ...this.series.map((one) => ({
            label: one.label,
            stroke: ink(one.ink),
            _ink: ink(one.ink),
            width: one.width || 1.5,
            dash: one.dash || undefined,
            ...(one.step ? { paths: uPlot.paths.stepped({ align: 1 }) } : {}),
            ...(one.fill ? { fill: ink(one.fill) } : {}),
            points: { show: false },
            value: (_, value) => digits(value, one.digits),
          })),
        ],
        hooks: {
          setCursor: [
            (chart) => {
              if (chart.cursor.left < 0 || !chart.cursor.event || this.quiet) return;
              const time = chart.posToVal(chart.cursor.left, "x");
              window.dispatchEvent(new CustomEvent("fp-time", { detail: { link: this.link, time, source: this } }));
            },
          ],
          drawClear: [(chart) => this.drawPhases(chart)],
        },
      };
    },
    drawPhases(chart) {
      const phases = this.payload?.phases || [];
      const context = chart.ctx;
      context.save();
      context.textAlign = "left";
      phases.forEach((phase, k) => {
        const from = chart.valToPos(phase.start, "x", true);
        const to = chart.valToPos(phase.end, "x", true);
        if (k % 2) {
          context.fillStyle = ink("shade");
          context.fillRect(from, chart.bbox.top, to - from, chart.bbox.height);
        }
        context.fillStyle = ink("ink-soft");
        context.font = `${11 * devicePixelRatio}px system-ui`;
        if (context.measureText(phase.name).width < to - from - 4) context.fillText(phase.name, from + 3 * devicePixelRatio, chart.bbox.top + 11 * devicePixelRatio);
      });
      context.restore();
    },
    // The stretch that was dragged out, if there is one: other numbers do not undo it.
    zoomed() {
      const scale = this.chart?.scales.x, x = this.data?.[0];
      if (!scale || !x || scale.min == null) return null;
      const [first, last] = [x[0], x[x.length - 1]], crumb = 1e-6 * (last - first);
      return scale.min > first + crumb || scale.max < last - crumb ? { min: scale.min, max: scale.max } : null;
    },
    make() {
      this.chart?.destroy();
      this.chart = new uPlot(this.options(), this.data || [[0, 1], ...this.series.map(() => [null, null])], this.$refs.plot);
    },
    // payload: { x: base64 float32, lines: [base64 float32], phases, summary, sequence }
    show(payload) {
      this.payload = payload;
      this.stale = "";
      this.empty = false;
      this.summary = payload.summary || "";
      const x = floats(payload.x), before = this.data?.[0];
      const same = before && before[0] === x[0] && before[before.length - 1] === x[x.length - 1];
      const kept = same ? this.zoomed() : null;
      this.data = [x, ...payload.lines.map(floats)];
      this.chart?.setData(this.data, !kept);
      if (kept) this.chart.setScale("x", kept);
      if (payload.sequence) requestAnimationFrame(() => performance.mark(`fp-drawn-${payload.sequence}`));
    },
    markStale(text) {
      this.stale = text;
    },
  },
};
