// The keys of recording a session: Enter stores, digits overwrite, arrows go from set to
// set. Without script the same fields are filled and sent as a form.
const form = document.getElementById("record") as HTMLFormElement | null;

if (form) {
  const sets = [...form.querySelectorAll<HTMLInputElement>("input[data-set]")];
  const store = form.querySelector<HTMLButtonElement>("button.go")!;
  const at = () => sets.indexOf(document.activeElement as HTMLInputElement);
  const go = (i: number) => {
    const to = i < 0 ? store : sets[Math.min(i, sets.length - 1)];
    to.focus();
    if (to instanceof HTMLInputElement) to.select();
    to.scrollIntoView({ block: "nearest" });
  };

  /** The first set of the next or previous exercise. */
  const otherExercise = (by: number) => {
    const here = at(), slot = sets[here]?.dataset.slot;
    if (by > 0) {
      const next = sets.findIndex((s, i) => i > here && s.dataset.slot !== slot);
      return next < 0 ? sets.length - 1 : next;
    }
    const before = sets.slice(0, Math.max(here, 0)).findLast((s) => s.dataset.slot !== slot);
    return before ? sets.findIndex((s) => s.dataset.slot === before.dataset.slot) : -1;
  };

  /** What a letter does in a set that is still as written. */
  const letters: Record<string, (s: HTMLInputElement) => void> = {
    s: (s) => { s.value = "- "; s.setSelectionRange(2, 2); },
    o: (s) => {
      const other = sets.find((x) => x.dataset.slot === s.dataset.slot && x.dataset.number === s.dataset.number && x.dataset.side !== s.dataset.side);
      if (other) go(sets.indexOf(other));
    },
    n: () => go(otherExercise(1)),
    h: (s) => {
      const slot = form.elements.namedItem("pain-slot") as HTMLSelectElement;
      slot.value = s.dataset.slot!;
      (form.elements.namedItem("pain-place") as HTMLSelectElement).focus();
    },
  };

  form.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.isComposing) return;
    const here = at(), s = sets[here], done = () => { e.preventDefault(); e.stopPropagation(); };
    if (!s && document.activeElement !== store) return;
    switch (e.key) {
      case "ArrowDown": done(); go(here + 1); return;
      case "ArrowUp": done(); go(here - 1); return;
      case "PageDown": done(); go(otherExercise(1)); return;
      case "PageUp": done(); go(otherExercise(-1)); return;
      case "Escape": if (s) { done(); if (s.value) s.value = ""; else go(-1); } return;
    }
    if (s && !s.value && letters[e.key]) { done(); letters[e.key](s); return; }
    if (!s && e.key === "n") { done(); go(0); return; }
    if (!s && /^[0-9]$/.test(e.key)) { e.stopPropagation(); go(0); } // the browser puts the digit into the first set
  });

  // What differs from what was written is marked with a word beside it.
  form.addEventListener("input", (e) => {
    const s = e.target as HTMLInputElement;
    s.closest("tr")?.classList.toggle("differs", s.dataset.set !== undefined && s.value.trim() !== "");
  });
}
export {};
