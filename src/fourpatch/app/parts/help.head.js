// The key ? leads to help and search from every page, unless somebody is typing.
addEventListener("keydown", (event) => {
  const typing = event.target.closest?.("input:not([type=range], [type=checkbox], [type=radio]), textarea, select, [contenteditable]");
  if (event.key !== "?" || event.ctrlKey || event.metaKey || event.altKey || typing) return;
  event.preventDefault();
  if (location.pathname === "/start") document.getElementById("fp-find")?.focus();
  else location.assign(`/start${location.search}#find`);
});
