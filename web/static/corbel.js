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
  // The board: arrows go between tiles, shift moves the exercise, Enter goes to its dose.
  const rowOf = (slot) => document.getElementById("x-" + slot);
  document.addEventListener("keydown", (e) => {
    const tile = e.target.closest?.("[data-tile]");
    if (!tile) return;
    const tiles = [...document.querySelectorAll("[data-tile]")], at = tiles.indexOf(tile);
    const by = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
    if (by && e.shiftKey) {
      e.preventDefault();
      sessionStorage.setItem("tile", tile.dataset.tile);
      rowOf(tile.dataset.tile)?.querySelector(`[value="${by > 0 ? "down" : "up"}"]`)?.click();
    } else if (by) {
      e.preventDefault();
      tiles[at + by]?.focus();
    } else if (e.key === "Enter") {
      e.preventDefault();
      const dose = rowOf(tile.dataset.tile)?.querySelector("[data-dose]");
      dose?.focus();
      dose?.select();
    }
  });
  document.addEventListener("click", (e) => {
    const tile = e.target.closest?.("[data-tile]");
    if (!tile || e.detail === 0) return;
    e.preventDefault();
    const row = rowOf(tile.dataset.tile);
    row?.scrollIntoView({ block: "center" });
    row?.querySelector("[data-dose]")?.focus({ preventScroll: true });
  });
  document.addEventListener("click", (e) => {
    const pick = e.target.closest?.("[data-pick]"), add = document.getElementById("add");
    if (!pick || !add) return;
    add.value = pick.dataset.pick;
    document.getElementById("found").replaceChildren();
    document.getElementById("add-dose").focus();
  });
  document.addEventListener("keydown", (e) => {
    if (e.key !== "Escape" || !e.target.matches("[data-dose]")) return;
    e.target.value = e.target.defaultValue;
    e.target.dispatchEvent(new Event("input", { bubbles: true }));
    document.querySelector(`[data-tile="${CSS.escape(e.target.dataset.dose)}"]`)?.focus();
  });
  // After a part of the page came anew, the focus stays where it was.
  let held = null;
  document.addEventListener("htmx:beforeSwap", (e) => {
    held = document.activeElement?.closest?.("[data-tile]")?.dataset.tile ?? sessionStorage.getItem("tile");
    sessionStorage.removeItem("tile");
    if (e.detail.xhr.status < 400) { document.getElementById("told")?.remove(); return; }
    e.detail.shouldSwap = false;
    e.detail.isError = false;
    const answer = new DOMParser().parseFromString(e.detail.xhr.responseText, "text/html").querySelector("[role=alert]");
    document.getElementById("told")?.remove();
    if (!answer) return;
    answer.id = "told";
    document.getElementById("main").prepend(answer);
    answer.scrollIntoView({ block: "nearest" });
  });
  document.addEventListener("htmx:afterSettle", () => {
    if (held) document.querySelector(`[data-tile="${CSS.escape(held)}"]`)?.focus();
    held = null;
  });
  document.addEventListener("htmx:sendError", () => {
    document.getElementById("told")?.remove();
    const p = document.createElement("p");
    p.id = "told";
    p.className = "note stop";
    p.setAttribute("role", "alert");
    p.textContent = document.documentElement.lang === "de" ? "Der Server antwortet nicht. Nichts wurde geändert; versuchen Sie es erneut." : "The server does not answer. Nothing was changed; try again.";
    document.getElementById("main").prepend(p);
  });
  // Somebody else may change the same block: the page says so, it takes nothing away.
  const lookEvery = 6000;
  const look = async () => {
    const board = document.querySelector("[data-version-of]");
    if (!board || document.hidden) return;
    const answer = await fetch(board.dataset.versionOf, { headers: { Accept: "application/json" } }).catch(() => null);
    if (!answer?.ok) return;
    const { version } = await answer.json();
    const now = document.querySelector("[data-version-of]"); // it may have come anew meanwhile
    if (!now || version <= Number(now.dataset.version) || document.getElementById("elsewhere")) return;
    const p = document.createElement("p");
    p.id = "elsewhere";
    p.className = "note ask";
    p.setAttribute("role", "status");
    p.textContent = now.dataset.changed;
    now.prepend(p);
  };
  setInterval(look, lookEvery);
  // A form is sent once, however often its button is pressed.
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.method !== "post" || form.closest("[hx-boost=true]")) return;
    if (form.dataset.sent) { e.preventDefault(); return; }
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, 3000);
  });
  document.addEventListener("DOMContentLoaded", () => document.querySelector("[role=alert]")?.scrollIntoView({ block: "nearest" }));
})();
