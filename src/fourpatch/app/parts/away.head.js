// While the server does not answer, the page says so and takes no input; what it took last is told again after.
(() => {
  const PATIENCE = 4000; // ms without an answer after which it is said to be away
  const PAUSE = 300; // ms from an input to the question whether it has arrived
  const AGAIN = 1000; // ms between two questions while it is away
  const KEPT = "fp-typed";
  const SAYS =
    "The workbench does not answer: it was closed, or it is stuck. What you turned and typed last is kept in " +
    "this tab, so leave it open; the rest is in the notebook. If you closed it, start it again with " +
    `“fourpatch app --port ${location.port} --no-browser”. This page goes on by itself.`;
  const typed = new Set(); // fields that somebody has typed in
  const unsure = new Set(); // and of which nobody knows whether it has arrived
  let away = false;
  let asking = false;
  let timer = null;
  let focused = null;

  const heading = () => {
    let strip = document.getElementById("fp-away");
    if (!strip) {
      strip = document.createElement("div");
      strip.id = "fp-away";
      strip.setAttribute("role", "alert");
      document.body.prepend(strip);
    }
    return strip;
  };
  const close = (closed) => {
    for (const part of document.body.children) if (part.id !== "fp-away") part.inert = closed;
    document.body.classList.toggle("fp-closed", closed);
  };
  const later = (pause) => {
    timer ??= setTimeout(() => {
      timer = null;
      ask();
    }, pause);
  };

  // A question of the socket's own that the server answers after all that was sent before it.
  const ask = () => {
    if (asking) return;
    if (!window.socket?.connected) {
      if (away) later(AGAIN);
      return;
    }
    asking = true;
    const told = [...unsure];
    const message = { client_id: window.clientId, next_message_id: window.nextMessageId };
    window.socket.timeout(PATIENCE).emit("ack", message, (missed) => {
      asking = false;
      if (missed) {
        leave();
        later(AGAIN);
        return;
      }
      if (away) comeBack();
      else {
        for (const field of told) unsure.delete(field);
        if (unsure.size) later(PAUSE);
      }
    });
  };

  const leave = () => {
    if (away) return;
    away = true;
    focused = document.activeElement;
    close(true);
    heading().textContent = SAYS;
    const fields = [...typed].filter((field) => field.isConnected);
    const texts = fields.map((field) => ({ at: nameOf(field), text: field.value }));
    sessionStorage.setItem(KEPT, JSON.stringify({ page: location.pathname, texts }));
    window.dispatchEvent(new Event("fp-away"));
  };
  const comeBack = () => {
    away = false;
    sessionStorage.removeItem(KEPT);
    close(false);
    heading().textContent = "";
    if (focused?.isConnected) focused.focus({ preventScroll: true });
    for (const field of unsure) tell(field);
    unsure.clear();
    window.dispatchEvent(new Event("fp-back"));
  };

  // What was typed: a field is known by its label, and by its place among those of the same label.
  const isText = (field) =>
    !field.closest(".fp-board") &&
    (field.tagName === "TEXTAREA" || (field.tagName === "INPUT" && ["text", "number", "search"].includes(field.type)));
  const labelOf = (field) =>
    field.getAttribute("aria-label") || [...(field.labels || [])].map((label) => label.textContent.trim()).join(" ") || field.name;
  const alike = (label) =>
    [...document.querySelectorAll("textarea, input")].filter((field) => isText(field) && labelOf(field) === label);
  const nameOf = (field) => ({ label: labelOf(field), place: alike(labelOf(field)).indexOf(field) });
  const tell = (field) => {
    for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
  };
  const putBack = () => {
    const kept = JSON.parse(sessionStorage.getItem(KEPT) || "null");
    sessionStorage.removeItem(KEPT);
    if (!kept || kept.page !== location.pathname) return;
    let left = kept.texts;
    const put = () => {
      left = left.filter(({ at, text }) => {
        const field = alike(at.label)[at.place];
        if (field && field.value !== text) {
          field.value = text;
          tell(field);
        }
        return !field;
      });
      return left.length === 0;
    };
    const watcher = new MutationObserver(() => put() && watcher.disconnect());
    if (!put()) watcher.observe(document.body, { childList: true, subtree: true });
  };

  const touched = (event) => {
    const field = event.target;
    if (event.isTrusted && field instanceof Element && (event.type === "input" || event.type === "change") && isText(field)) {
      typed.add(field);
      unsure.add(field);
    }
    later(PAUSE);
  };
  for (const kind of ["input", "change", "click", "keydown"]) document.addEventListener(kind, touched, true);
  document.addEventListener("visibilitychange", () => later(0));
  document.addEventListener("DOMContentLoaded", () => {
    const found = setInterval(() => {
      if (!window.socket) return;
      clearInterval(found);
      window.socket.on("disconnect", () => {
        leave();
        later(AGAIN);
      });
      window.socket.on("connect", () => away && later(0));
      putBack();
    }, 50);
  });
  // Leaving the page on purpose closes the socket too; nothing need be said of that.
  window.addEventListener("pagehide", () => window.socket?.off("disconnect"));
})();
