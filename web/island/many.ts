// The page for many clients: fields of what is chosen alone, and all or none at a click.
const form = document.getElementById("many") as HTMLFormElement | null;

if (form) {
  const boxes = [...form.querySelectorAll<HTMLInputElement>("input[name=client]")];
  const show = () => {
    const kind = (form.elements.namedItem("do") as RadioNodeList).value;
    for (const part of form.querySelectorAll<HTMLElement>("[data-for]")) part.hidden = part.dataset.for !== kind;
    document.getElementById("chosen")!.textContent = `${boxes.filter((b) => b.checked).length} / ${boxes.length}`;
  };
  const set = (on: boolean) => { for (const b of boxes) b.checked = on; show(); };
  document.getElementById("all")!.addEventListener("click", () => set(true));
  document.getElementById("none")!.addEventListener("click", () => set(false));
  form.addEventListener("change", show);
  show();
}
export {};
