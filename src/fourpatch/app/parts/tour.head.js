// A guided tour of two minutes: a strip above the page says what to try, leads on, and can be left and taken up again.
(() => {
  const STEPS = [
    ["/", "In the row Bar press + under Front. The table below the car says which end now runs out of grip sooner, and in which part of the corner."],
    ["/", "Choose a cell of the table, Mid in a slow corner for one. The car drives that corner; its four tyres show their loads."],
    ["/bumps", "Turn Bump, low speed, at the front. The numbers say what it costs or gains over a rough road and a kerb."],
    ["/cure", "Choose one of the complaints, then Find a cure. One sentence says what to turn, what you will feel and what it costs."],
    ["/lap", "What it is worth on a lap of a track; with Make a track of your own you drive where you race."],
    ["/start", "Now your own car: the first door makes it of ten numbers. The key ? leads here from every page."],
  ];
  const KEPT = "fp-tour"; // step in hand, with a dash before it where the tour was left
  const kept = () => localStorage.getItem(KEPT);
  const place = () => Math.min(Math.abs(parseInt(kept(), 10)) || 1, STEPS.length);
  const under = () => kept() !== null && !kept().startsWith("-");
  const go = (step) => {
    localStorage.setItem(KEPT, String(step));
    const path = STEPS[step - 1][0];
    if (path === location.pathname) draw();
    else location.assign(path + location.search);
  };
  const button = (text, act, kind) => {
    const one = document.createElement("button");
    one.type = "button";
    one.className = `fp-button ${kind || ""}`;
    one.textContent = text;
    one.addEventListener("click", act);
    return one;
  };
  const draw = () => {
    document.getElementById("fp-tour")?.remove();
    for (const one of document.querySelectorAll(".fp-tour-begin")) one.textContent = begins();
    if (!under()) return;
    const strip = document.createElement("aside");
    strip.id = "fp-tour";
    strip.setAttribute("aria-label", "Tour");
    const step = place();
    const said = document.createElement("p");
    said.setAttribute("role", "status");
    said.textContent = `Tour, ${step} of ${STEPS.length}: ${STEPS[step - 1][1]}`;
    strip.append(said);
    if (STEPS[step - 1][0] !== location.pathname) strip.append(button("There", () => go(step), "fp-main"));
    if (step > 1) strip.append(button("Back", () => go(step - 1)));
    if (step < STEPS.length) strip.append(button("Next", () => go(step + 1), "fp-main"));
    strip.append(button(step < STEPS.length ? "Leave the tour" : "End", () => leave(step)));
    document.body.prepend(strip);
  };
  const leave = (step) => {
    if (step < STEPS.length) localStorage.setItem(KEPT, `-${step}`);
    else localStorage.removeItem(KEPT);
    draw();
  };
  const begins = () => (kept() === null ? "A tour of two minutes" : `Go on with the tour, ${place()} of ${STEPS.length}`);
  addEventListener("click", (event) => {
    if (event.target.closest?.(".fp-tour-begin")) go(place());
  });
  addEventListener("DOMContentLoaded", draw);
  addEventListener("load", () => setTimeout(draw, 0)); // the page's own button is there by then
})();
