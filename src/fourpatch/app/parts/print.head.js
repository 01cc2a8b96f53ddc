// Paper: light inks whatever the screen has, and a line that says what it is of and from when.
addEventListener("beforeprint", () => {
  document.documentElement.dataset.look = "light";
  dispatchEvent(new Event("fp-look"));
  const head = document.createElement("p");
  head.id = "fp-paper-head";
  const open = document.querySelector(".fp-open");
  const option = open && open.selectedOptions[0];
  const of = option ? ` · ${option.textContent}` : "";
  head.textContent = `${document.title}${of} · ${new Date().toLocaleString([], { dateStyle: "medium", timeStyle: "short" })}`;
  document.querySelector("#fp-paper-head")?.remove();
  document.querySelector(".fp-main-area")?.prepend(head);
});
addEventListener("afterprint", () => {
  document.querySelector("#fp-paper-head")?.remove();
  fpLook(localStorage.getItem("fp-look") || "system");
});
