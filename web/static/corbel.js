// Keys of every page: what they do is reachable without them too.
"use strict";
(() => {
  const typing = (e) => e.target.closest("input, textarea, select, [contenteditable]") !== null;
  const rows = () => [...document.querySelectorAll("[data-row] > td:first-child a, a[data-row]")];
  const step = (by) => {
    const list = rows();
    if (!list.length) return;
    const at = list.indexOf(document.activeElement);
    list[Math.min(Math.max(at + by, 0), list.length - 1)].focus();
  };
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || typing(e) || document.querySelector("dialog[open]")) return;
    if (e.key === "/") { e.preventDefault(); document.getElementById("find-client")?.focus(); }
    if (e.key === "?") { e.preventDefault(); document.getElementById("keys")?.showModal(); }
    if (e.key === "j") step(1);
    if (e.key === "k") step(-1);
    const by = document.querySelector(`[data-key="${CSS.escape(e.key)}"]`);
    if (by && by.offsetParent !== null) { e.preventDefault(); by.focus(); by.click(); }
  });
  // A form is sent once, however often its button is pressed.
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) { e.preventDefault(); return; }
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, 3000);
  });
  document.addEventListener("DOMContentLoaded", () => document.querySelector("[role=alert]")?.scrollIntoView({ block: "nearest" }));
})();
