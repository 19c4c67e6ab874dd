// The block table: a grid that is typed into like a spreadsheet. What it shows and
// stores is in grid.ts; here is how it looks and which keys it knows.
import { h, options, render } from "preact";
import { useRef } from "preact/hooks";
import { effect, useComputed } from "@preact/signals";
import {
  act, active, adding, addDraft, anchor, choose, clash, coming, commit, dismiss, editing, fieldOf, keyOf, line, marks, notices, place,
  shown, slots, state, tried, tryCell, undo, visible, wrong, type Place, type Row, type Session,
} from "./grid.ts";
import { t } from "./texts.ts";

const root = document.getElementById("table")!;
const side = document.getElementById("checks")!;
const lastCol = () => state.value.weeks;

// --- selection ---

const cellOf = (p: Place) => root.querySelector<HTMLElement>(`[data-cell="${CSS.escape(p.slot + " " + p.col)}"]`);

function focusActive() {
  if (!editing.value) cellOf(active.value)?.focus({ preventScroll: false });
}

/** Goes to a cell; with stretch the selection reaches from where it began. */
function go(p: Place, stretch = false) {
  active.value = p;
  if (!stretch) anchor.value = p;
  focusActive();
}

function step(down: number, right: number, stretch = false) {
  const list = slots.value, at = place.value.get(active.value.slot) ?? 0;
  const row = Math.min(Math.max(at + down, 0), list.length - 1);
  const col = Math.min(Math.max(active.value.col + right, 0), lastCol());
  go({ slot: list[row], col }, stretch);
}

/** Goes to the next or previous cell in reading order; false at the end of the table. */
function tab(back: boolean): boolean {
  const list = slots.value, at = place.value.get(active.value.slot) ?? 0;
  let col = active.value.col + (back ? -1 : 1), row = at;
  if (col > lastCol()) { col = 0; row++; } else if (col < 0) { col = lastCol(); row--; }
  if (row < 0 || row >= list.length) return false;
  go({ slot: list[row], col });
  return true;
}

interface Range { top: number; bottom: number; left: number; right: number }

function range(): Range {
  const a = place.value.get(active.value.slot) ?? 0, b = place.value.get(anchor.value.slot) ?? a;
  const c = active.value.col, d = anchor.value.col;
  return { top: Math.min(a, b), bottom: Math.max(a, b), left: Math.min(c, d), right: Math.max(c, d) };
}

const cellsIn = (r: Range) =>
  slots.value.slice(r.top, r.bottom + 1).flatMap((slot) => Array.from({ length: r.right - r.left + 1 }, (_, i) => ({ slot, col: r.left + i })));

// --- typing ---

/** Begins to type into the active cell: over what stands there, or on with it. */
function begin(text: string | null) {
  const s = shown(active.value);
  editing.value = { text: text ?? (s.text || (active.value.col ? s.comes : "")), over: text !== null };
}

/** Ends typing; what was typed is stored unless it is given up. */
function end(store: boolean) {
  const e = editing.value, at = active.value;
  if (!e) return;
  editing.value = null;
  tried.value = null;
  if (!store) return;
  const s = shown(at);
  if (e.text.trim() === s.comes && !s.text) return; // opened and left as it was
  commit([{ ...at, to: e.text }]);
}

/** Leaves a line that adds an exercise: it is added once exercise and dose are there. */
function leave(slot: string) { return adding(slot) && addDraft(slot.slice(1)); }

function typingKey(e: KeyboardEvent) {
  e.stopPropagation();
  const names = active.value.col === 0; // the list of names has the arrows up and down
  const at = active.value;
  if (e.isComposing) return;
  if (e.key === "Escape") { e.preventDefault(); end(false); focusActive(); return; }
  if (e.key === "Enter") {
    e.preventDefault();
    end(true);
    if (adding(at.slot)) {
      if (leave(at.slot)) go({ slot: at.slot, col: 0 });
      else go({ slot: at.slot, col: at.col === 0 ? 1 : 0 });
    } else step(e.shiftKey ? -1 : 1, 0);
    return;
  }
  if (e.key === "Tab") {
    end(true);
    if (!e.shiftKey && at.col === lastCol() && leave(at.slot)) { e.preventDefault(); go({ slot: at.slot, col: 0 }); return; }
    if (tab(e.shiftKey)) e.preventDefault();
    return;
  }
  const by = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[e.key];
  if (by && editing.value?.over && !e.altKey && !e.ctrlKey && !e.shiftKey && !(names && by[0])) {
    e.preventDefault();
    end(true);
    if (by[0]) leave(at.slot);
    step(by[0], by[1]);
  }
}

// --- keys of the grid ---

function gridKey(e: KeyboardEvent) {
  if (editing.value) { typingKey(e); return; }
  const ctrl = e.ctrlKey || e.metaKey, done = () => { e.preventDefault(); e.stopPropagation(); };
  const arrow = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[e.key];
  if (arrow && e.altKey) { done(); if (arrow[0]) moveRow(arrow[0]); return; }
  if (arrow) { done(); const far = ctrl ? 9999 : 1; step(arrow[0] * far, arrow[1] * far, e.shiftKey); return; }
  if (e.altKey && e.key === "Enter") { done(); toProblem(); return; }
  if (e.altKey) return;
  if (ctrl) { if (commandKey(e.key.toLowerCase(), e.shiftKey)) done(); return; }
  switch (e.key) {
    case "Tab": if (tab(e.shiftKey)) done(); return;
    case "Enter": case "F2": done(); begin(null); return;
    case "Home": done(); go({ ...active.value, col: 0 }, e.shiftKey); return;
    case "End": done(); go({ ...active.value, col: lastCol() }, e.shiftKey); return;
    case "PageDown": done(); otherSession(1); return;
    case "PageUp": done(); otherSession(-1); return;
    case "Delete": case "Backspace": done(); clear(); return;
    case "Escape": done(); document.querySelector<HTMLElement>(".head .acts button, .head .acts a")?.focus(); return;
    case "?": case "/": return; // keys of the page
  }
  if (e.key.length === 1 || e.key === "Dead") { // the browser puts the key into the field that opens
    e.stopPropagation();
    atOnce(() => begin(""));
  }
}

/** Shows what f changes before it returns. */
function atOnce(f: () => void) {
  const before = options.debounceRendering;
  options.debounceRendering = (show) => show();
  f();
  options.debounceRendering = before;
}

/** Keys with Ctrl or Cmd; false leaves the key to the browser. */
function commandKey(key: string, shift: boolean): boolean {
  switch (key) {
    case "d": fill(1, 0); return true;
    case "r": if (shift) return false; fill(0, 1); return true;
    case "z": undo(); return true;
    case "a": selectSession(); return true;
    case "home": go({ slot: slots.value[0], col: 0 }, shift); return true;
    case "end": go({ slot: slots.value.at(-1)!, col: lastCol() }, shift); return true;
    case "delete": case "backspace": takeOut(active.value.slot); return true;
  }
  return false;
}

const sessionOf = (slot: string) => state.value.sessions.find((s) => "+" + s.id === slot || s.rows.some((r) => r.slot === slot));

function otherSession(by: number) {
  const list = state.value.sessions, to = list[list.indexOf(sessionOf(active.value.slot)!) + by];
  if (to) go({ slot: to.rows[0]?.slot ?? "+" + to.id, col: active.value.col });
}

function selectSession() {
  const s = sessionOf(active.value.slot);
  if (!s?.rows.length) return;
  anchor.value = { slot: s.rows[0].slot, col: 1 };
  active.value = { slot: s.rows.at(-1)!.slot, col: lastCol() };
  focusActive();
}

function moveRow(by: number) {
  const slot = active.value.slot;
  if (adding(slot)) return;
  const own = sessionOf(slot)!.rows, at = own.findIndex((r) => r.slot === slot);
  if (own[at + by]) act({ do: by < 0 ? "up" : "down", slot });
}

function takeOut(slot: string) {
  if (adding(slot)) return;
  const at = place.value.get(slot)!;
  act({ do: "out", slot });
  go({ slot: slots.value[at + 1], col: active.value.col });
}

/** Fills the selection down or right from its first line; one cell is filled from its neighbour. */
function fill(down: number, right: number) {
  const r = range();
  if (down && r.top === r.bottom) r.top = Math.max(r.top - 1, 0);
  if (right && r.left === r.right) r.left = Math.max(r.left - 1, 0);
  if (right && r.left === 0) r.left = 1;
  const from = (p: Place) => (down ? { slot: slots.value[r.top], col: p.col } : { slot: p.slot, col: r.left });
  commit(cellsIn(r).filter((p) => p.col > 0 && !adding(p.slot) && !adding(from(p).slot)).map((p) => ({ ...p, to: visible(from(p)) }))
    .filter((e) => e.to !== shown(e).text)); // what would come anyway is written too: it stays when week 1 changes
}

function clear() {
  commit(cellsIn(range()).filter((p) => p.col > 0 || adding(p.slot)).map((p) => ({ ...p, to: "" })));
}

/** Goes to the problem of the active cell at the side, else to the first. */
function toProblem() {
  const m = markOf(active.value);
  const note = (m && document.getElementById("p-" + m.problem)) ?? side.querySelector(".note");
  note?.querySelector<HTMLElement>("button, summary")?.focus();
}

// --- copy and paste ---

function copy(e: ClipboardEvent, cut: boolean) {
  const r = range();
  const rows = slots.value.slice(r.top, r.bottom + 1).filter((s) => !adding(s) || r.top === r.bottom)
    .map((slot) => cellsIn({ top: place.value.get(slot)!, bottom: place.value.get(slot)!, left: r.left, right: r.right }).map(visible).join("\t"));
  e.clipboardData!.setData("text/plain", rows.join("\n"));
  e.preventDefault();
  if (cut) clear();
}

/** Reads rows of a spreadsheet: tabs between cells, quotes around cells with a line break. */
function readRows(text: string): string[][] {
  const rows: string[][] = [[]];
  let cell = "", quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (quoted) {
      if (c === '"' && text[i + 1] === '"') { cell += c; i++; } else if (c === '"') quoted = false; else cell += c;
    } else if (c === '"' && cell === "") quoted = true;
    else if (c === "\t") { rows.at(-1)!.push(cell); cell = ""; }
    else if (c === "\n" || c === "\r") {
      if (c === "\r" && text[i + 1] === "\n") i++;
      rows.at(-1)!.push(cell);
      cell = "";
      rows.push([]);
    } else cell += c;
  }
  rows.at(-1)!.push(cell);
  if (rows.at(-1)!.length === 1 && rows.at(-1)![0] === "") rows.pop();
  return rows;
}

/** Lays rows over the table from the first selected cell on; one value fills the selection. Rows that stand on the line that adds exercises are added. */
function paste(text: string) {
  const rows = readRows(text), r = range();
  if (!rows.length) return;
  if (rows.length === 1 && rows[0].length === 1) {
    commit(cellsIn(r).filter((p) => p.col > 0 || (r.top === r.bottom && r.left === r.right)).map((p) => ({ ...p, to: rows[0][0] })));
    return;
  }
  const edits: { slot: string; col: number; to: string }[] = [];
  let at = r.top, lost = 0;
  for (const row of rows) {
    const slot = slots.value[at];
    const cells = row.slice(0, lastCol() + 1 - r.left);
    lost += row.length - cells.length;
    if (slot === undefined) { lost += cells.length; continue; }
    cells.forEach((to, i) => {
      const p = { slot, col: r.left + i }, s = adding(slot) ? null : shown(p);
      if (!s || to.trim() !== visible(p)) edits.push({ ...p, to });
    });
    if (adding(slot)) { // the next row is added to the same session
      commit(edits.splice(0));
      leave(slot);
    } else at++;
  }
  commit(edits);
  if (lost) dismissLater(t(`${lost} cells lay outside the table and were not pasted.`, `${lost} Zellen lagen außerhalb der Tabelle und wurden nicht eingefügt.`));
}

function dismissLater(text: string) { notices.value = [...notices.value, { id: String(Date.now()), text, typed: "" }]; }

const inGrid = () => !editing.value && !!document.activeElement?.closest("[data-cell]");
document.addEventListener("copy", (e) => { if (inGrid()) copy(e, false); });
document.addEventListener("cut", (e) => { if (inGrid()) copy(e, true); });
document.addEventListener("paste", (e) => {
  if (!inGrid()) return;
  e.preventDefault();
  paste(e.clipboardData!.getData("text/plain"));
});

// --- what is seen ---

/** The worst mark of a cell: of its week, or of the whole row at its exercise. */
function markOf(p: Place) { return marks.value[p.col ? p.slot + " " + p.col : p.slot]; }

const between = "\u001f";

function Cell({ slot, col, name }: { slot: string; col: number; name: string }) {
  const view = useComputed(() => {
    const p = { slot, col }, s = shown(p), m = markOf(p), r = range(), at = place.value.get(slot) ?? -1;
    const here = active.value.slot === slot && active.value.col === col;
    const chosen = at >= r.top && at <= r.bottom && col >= r.left && col <= r.right;
    const cls = [s.kind, m ? "mark " + m.severity : "", chosen ? "chosen" : "", here ? "here" : "", s.text ? "" : "comes"].filter(Boolean).join(" ");
    const word = s.kind === "wrong" ? t("cannot be read", "nicht lesbar") : s.kind === "clash" ? t("changed by somebody else", "von jemand anderem geändert") : m?.word ?? "";
    return [cls, s.text || s.comes, word, here && editing.value ? "typing" : "", here ? "here" : ""].join(between);
  });
  const [cls, text, word, typing, here] = view.value.split(between);
  const week = col ? `${name}, ${t("week", "Woche")} ${col}` : adding(slot) ? t("Add an exercise", "Übung hinzufügen") : t("Exercise", "Übung");
  return (
    <td role="gridcell" class={cls} data-cell={`${slot} ${col}`} data-slot={slot} data-field={fieldOf(col)} tabIndex={here ? 0 : -1}
      aria-selected={cls.includes("chosen")} aria-invalid={cls.includes("wrong")}
      onMouseDown={(e) => pressed(e as unknown as MouseEvent, { slot, col })} onMouseOver={(e) => dragged(e as unknown as MouseEvent, { slot, col })}
      onDblClick={() => begin(null)} onFocus={() => { if (!editing.value && (active.value.slot !== slot || active.value.col !== col)) go({ slot, col }); }}>
      {typing ? <Editor col={col} label={week} /> : <span class="in"><span class="unseen">{col ? week + ": " : ""}</span>{text || (adding(slot) && col === 0 ? <i>{t("add an exercise", "Übung hinzufügen")}</i> : "\u00a0")}{word ? <span class="unseen"> ({word})</span> : null}</span>}
    </td>
  );
}

let touched = false;
addEventListener("pointerdown", (e) => { touched = e.pointerType === "touch"; }, true);

function pressed(e: MouseEvent, p: Place) {
  if (e.button !== 0 || (e.target as HTMLElement).closest("input")) return;
  const same = active.value.slot === p.slot && active.value.col === p.col;
  e.preventDefault();
  end(true);
  go(p, e.shiftKey);
  if (touched && same) begin(null);
}

function dragged(e: MouseEvent, p: Place) {
  if (e.buttons === 1 && !editing.value && !touched) go(p, true);
}

function Editor({ col, label }: { col: number; label: string }) {
  const ref = useRef<HTMLInputElement | null>(null);
  const open = (el: HTMLInputElement | null) => {
    if (!el || ref.current === el) return;
    ref.current = el;
    el.value = editing.value!.text;
    el.focus();
    el.setSelectionRange(el.value.length, el.value.length);
    typed(el);
  };
  const typed = (el: HTMLInputElement) => {
    if (!editing.value) return;
    if (editing.value.text !== el.value) editing.value = { ...editing.value, text: el.value };
    if (col > 0 && !adding(active.value.slot)) void tryCell(active.value, el.value);
  };
  return <input ref={open} class="edit" aria-label={label} aria-describedby="said" autocomplete="off" spellcheck={false} list={col === 0 ? "exercises" : undefined} maxLength={500}
    onInput={(e) => typed(e.currentTarget as HTMLInputElement)} onBlur={() => end(true)} />;
}

function Line({ row, first, last }: { row: Row; first: boolean; last: boolean }) {
  const button = (what: string, text: string, label: string, off: boolean) =>
    <button type="button" class="mini" tabIndex={-1} disabled={off} aria-label={`${row.name}: ${label}`} onClick={() => (what === "out" ? takeOut(row.slot) : act({ do: what, slot: row.slot }))}>{text}</button>;
  return (
    <tr role="row" id={row.slot}>
      {Array.from({ length: state.value.weeks + 1 }, (_, col) => <Cell key={col} slot={row.slot} col={col} name={row.name} />)}
      <td role="gridcell" class="acts"><span class="minis">{button("up", "↑", t("up", "nach oben"), first)}{button("down", "↓", t("down", "nach unten"), last)}{button("out", "×", t("take out", "herausnehmen"), false)}</span></td>
    </tr>
  );
}

function SessionTable({ s }: { s: Session }) {
  const weeks = Array.from({ length: state.value.weeks }, (_, i) => i + 1);
  return (
    <section class="sheet scroll">
      <h2 id={"of-" + s.id}><a href={`/blocks/${encodeURIComponent(state.value.block)}/board?session=${encodeURIComponent(s.id)}&week=1`}>{s.name}</a> <span class="soft">{s.note}</span></h2>
      <table class="weeks grid" role="grid" aria-multiselectable="true" aria-labelledby={"of-" + s.id} data-session={s.id} onKeyDown={gridKey}>
        <thead><tr role="row"><th scope="col" role="columnheader">{t("Exercise", "Übung")}</th>{weeks.map((w) => <th scope="col" role="columnheader" key={w}>{t("Week", "Woche")} {w}</th>)}<th scope="col" role="columnheader" class="acts"><span class="unseen">{t("Change", "Ändern")}</span></th></tr></thead>
        <tbody>
          {s.rows.map((r, i) => <Line key={r.slot} row={r} first={i === 0} last={i === s.rows.length - 1} />)}
          {coming(s.id).map((c) => <tr role="row" class="coming" key={c.id}><td role="gridcell">{c.act!.exercise as string}</td>{weeks.map((w) => <td role="gridcell" key={w}>{(c.act!.doses as string[])[w - 1] ?? ""}</td>)}<td role="gridcell" /></tr>)}
          <tr role="row" class="adds" key={"+" + s.id}>{Array.from({ length: state.value.weeks + 1 }, (_, col) => <Cell key={col} slot={"+" + s.id} col={col} name={t("New exercise", "Neue Übung")} />)}<td role="gridcell" /></tr>
        </tbody>
      </table>
    </section>
  );
}

/** What is to be known of the active cell: the server's words, or its problems. */
function said(): { text: string; word: string; kind: string } {
  const p = active.value, key = keyOf(p.slot, fieldOf(p.col));
  if (editing.value && tried.value?.wrong) return { text: tried.value.wrong, word: t("cannot be read yet", "noch nicht lesbar"), kind: "stop" };
  if (!editing.value && wrong.value[key]) return { text: wrong.value[key].why, word: t("not stored", "nicht gespeichert"), kind: "stop" };
  const m = markOf(p);
  if (m) return { text: m.text, word: m.word, kind: m.severity };
  return { text: "", word: "", kind: "" };
}

function Said() {
  const s = said(), n = line.waiting.value.length;
  return (
    <div class="status">
      <p id="said" role="status" class={s.kind}>{s.word ? <span class={"word " + s.kind}>{s.word}</span> : null} {s.text || <span class="soft">{t("Type to write over, Enter to edit, Alt+Enter to the problem, ? for all keys.", "Tippen überschreibt, Enter bearbeitet, Alt+Enter zum Problem, ? für alle Tasten.")}</span>}</p>
      {line.away.value ? <p class="away"><span class="word settle">{n} {t("not sent yet", "noch nicht gesendet")}</span> {line.away.value} <button type="button" class="mini" onClick={() => line.now()}>{t("Try now", "Jetzt versuchen")}</button></p> : null}
    </div>
  );
}

function Clashes() {
  const list = Object.entries(clash.value);
  if (!list.length) return null;
  return (
    <section class="sheet clashes" role="alert">
      <h2>{t("Changed by somebody else meanwhile: choose", "Inzwischen von jemand anderem geändert: wählen Sie")}</h2>
      <table class="clash"><thead><tr><th scope="col">{t("Where", "Wo")}</th><th scope="col">{t("You wrote", "Sie schrieben")}</th><th scope="col">{t("Stands now", "Steht jetzt")}</th><th scope="col"><span class="unseen">{t("Choose", "Wählen")}</span></th></tr></thead>
        <tbody>{list.map(([key, mine]) => {
          const [slot, field] = key.split("|"), col = field === "dose" ? 1 : Number(field.slice("weeks.".length));
          const row = sessionOf(slot)?.rows.find((r) => r.slot === slot), cell = row?.cells[col - 1];
          return <tr key={key}><td>{row?.name}, {t("week", "Woche")} {col}</td><td>{mine || "–"}</td><td>{cell?.typed || cell?.comes}</td>
            <td class="acts"><button type="button" onClick={() => choose(key, true)}>{t("Write mine", "Meines schreiben")}</button> <button type="button" onClick={() => choose(key, false)}>{t("Leave theirs", "Deren lassen")}</button></td></tr>;
        })}</tbody></table>
    </section>
  );
}

function Notices() {
  return <div role="alert">{notices.value.map((n) => (
    <div class="note stop" key={n.id}><p><strong>{t("Not done.", "Nicht gemacht.")}</strong> {n.text}{n.typed ? <span> {t("You typed:", "Sie tippten:")} <code>{n.typed}</code></span> : null} <button type="button" class="mini" onClick={() => dismiss(n.id)}>{t("Close", "Schließen")}</button></p></div>
  ))}</div>;
}

function Table() {
  return <div><Notices /><Clashes />{state.value.sessions.map((s) => <SessionTable key={s.id} s={s} />)}<Said /></div>;
}

// --- the problems at the side, and forms of the page that need no reload ---

/** Shows the side as the server made it; what was open and focused stays so. */
function showSide(html: string) {
  const open = [...side.querySelectorAll("details[open]")].map((d) => [d.closest(".note")?.id, d.querySelector("summary")?.textContent]);
  const note = document.activeElement?.closest("#checks .note"), focused = side.contains(document.activeElement);
  const at = note ? [...side.querySelectorAll(".note")].indexOf(note) : 0;
  side.innerHTML = html;
  for (const d of side.querySelectorAll("details"))
    if (open.some(([id, text]) => id === d.closest(".note")?.id && text === d.querySelector("summary")?.textContent)) d.open = true;
  if (!focused) return;
  const notes = side.querySelectorAll(".note");
  const next = notes[Math.min(at, notes.length - 1)]?.querySelector<HTMLElement>("button, summary");
  if (next) next.focus(); else focusActive();
}

document.addEventListener("submit", (e) => {
  const form = e.target as HTMLFormElement, what = new URL(form.action).pathname.split("/").at(-1);
  if (!["undo", "way-out", "keep"].includes(what!) || !form.action.includes("/blocks/")) return;
  e.preventDefault();
  e.stopImmediatePropagation();
  const f = new FormData(form);
  if (what === "undo") undo();
  if (what === "way-out") act({ do: "fix", fix: f.get("fix") as string });
  if (what === "keep") act({ do: "keep", problem: f.get("problem") as string, why: f.get("why") as string });
}, true);

document.addEventListener("keydown", (e) => { // e goes into the table, from anywhere on the page
  if (e.key !== "e" || e.ctrlKey || e.metaKey || e.altKey || document.querySelector("dialog[open]")) return;
  if ((e.target as HTMLElement).closest("input, textarea, select, [data-cell]")) return;
  e.preventDefault();
  focusActive();
});

side.addEventListener("keydown", (e) => { if (e.key === "Escape") { e.preventDefault(); focusActive(); } });

root.textContent = "";
side.removeAttribute("aria-live"); // the line under the table says what matters; the list would be read whole
render(<Table />, root);
let last = state.value.side;
effect(() => {
  const html = tried.value?.side ?? state.value.side;
  if (html && html !== last) showSide(last = html);
});
