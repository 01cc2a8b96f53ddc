// Definitions open on hovering and on focus too, beside their word; without this they open on a press.
(() => {
  const wordOf = (event) => event.target instanceof Element && event.target.closest(".fp-term");
  const told = (word) => document.getElementById(word.getAttribute("popovertarget"));
  const open = (event) => {
    const word = wordOf(event);
    if (!word) return;
    const popover = told(word);
    if (popover && !popover.matches(":popover-open")) popover.showPopover({ source: word });
  };
  const close = (event) => {
    const word = wordOf(event);
    if (!word || word.contains(event.relatedTarget)) return;
    const popover = told(word);
    if (popover && popover.matches(":popover-open") && document.activeElement !== word) popover.hidePopover();
  };
  document.addEventListener("pointerover", (event) => event.pointerType === "mouse" && open(event));
  document.addEventListener("pointerout", close);
  document.addEventListener("focusin", (event) => event.target.matches?.(":focus-visible") && open(event));
  document.addEventListener("focusout", (event) => {
    const word = wordOf(event);
    const popover = word && told(word);
    if (popover && popover.matches(":popover-open")) popover.hidePopover();
  });
  // Escape and a press beside it close it natively; a press on a word that hovering has opened leaves it open.
  document.addEventListener("click", (event) => {
    const word = wordOf(event);
    if (!word) return;
    event.preventDefault();
    event.stopPropagation();
    const popover = told(word);
    if (popover && !popover.matches(":popover-open")) popover.showPopover({ source: word });
  }, true);
  const place = (popover) => {
    const at = document.querySelector(`[popovertarget="${popover.id}"]`).getBoundingClientRect();
    const size = popover.getBoundingClientRect();
    const below = at.bottom + 4 + size.height < innerHeight;
    popover.style.left = `${Math.max(8, Math.min(at.left, innerWidth - size.width - 8))}px`;
    popover.style.top = `${below ? at.bottom + 4 : Math.max(8, at.top - size.height - 4)}px`;
  };
  document.addEventListener("toggle", (event) => {
    if (event.newState === "open" && event.target.classList.contains("fp-word")) place(event.target);
  }, true);
  const follow = () => document.querySelectorAll(".fp-word:popover-open").forEach(place);
  addEventListener("scroll", follow, { passive: true, capture: true });
  addEventListener("resize", follow);
})();
