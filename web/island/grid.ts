// State of the block table: what the server said, and over it what was typed since.
import { computed, signal } from "@preact/signals";
import { Line, newID, post, type Answer, type CellEdit, type Change } from "./line.ts";
import { t } from "./texts.ts";

export interface Cell { field: string; typed: string; comes: string }
export interface Row { slot: string; name: string; cells: Cell[] }
export interface Session { id: string; name: string; note: string; rows: Row[] }
export interface Mark { severity: string; word: string; text: string; problem: string }
interface State { block: string; version: number; weeks: number; sessions: Session[]; marks: Record<string, Mark>; side: string; whole: boolean }

/** A place in the table: a slot, or "+" and a session for the line that adds one; column 0 is the exercise, then the weeks. */
export interface Place { slot: string; col: number }
/** A text that could not be stored, with the server's words. */
export interface Wrong { text: string; why: string }
export interface Notice { id: string; text: string; typed: string }

export const adding = (slot: string) => slot.startsWith("+");
export const keyOf = (slot: string, field: string) => slot + "|" + field;

const root = document.getElementById("table")!;
const first: State = JSON.parse(root.dataset.state!);
first.side = document.getElementById("checks")!.innerHTML; // as the page was made
const url = "/blocks/" + encodeURIComponent(first.block);
const store = "corbel table " + first.block;

export const state = signal<State>(first);
export const wrong = signal<Record<string, Wrong>>({});
export const clash = signal<Record<string, string>>({}); // by key: what I wrote; theirs stands in the state
export const drafts = signal<Record<string, string[]>>({}); // by session: the line that adds an exercise
export const notices = signal<Notice[]>([]);
export const active = signal<Place>({ slot: first.sessions[0]?.rows[0]?.slot ?? "+" + (first.sessions[0]?.id ?? ""), col: 1 });
export const anchor = signal<Place>(active.value);
export const editing = signal<{ text: string; over: boolean } | null>(null);
export const tried = signal<{ marks: Record<string, Mark>; side: string; wrong: string } | null>(null);

/** Every row in order, those that add an exercise included. */
export const slots = computed(() => state.value.sessions.flatMap((s) => [...s.rows.map((r) => r.slot), "+" + s.id]));
export const place = computed(() => new Map(slots.value.map((s, i) => [s, i])));
const rows = computed(() => new Map(state.value.sessions.flatMap((s) => s.rows.map((r) => [r.slot, r] as const))));
export const marks = computed(() => tried.value?.marks ?? state.value.marks);

/** What waits to be stored, by cell. */
const pending = computed(() => {
  const out = new Map<string, string>();
  for (const c of line.waiting.value) {
    for (const e of c.cells ?? []) out.set(keyOf(e.slot, e.field), e.to);
    if (c.act?.do === "swap") out.set(keyOf(c.act.slot as string, "exercise"), c.act.exercise as string);
  }
  return out;
});

/** Exercises that wait to be added to a session. */
export const coming = (session: string) => line.waiting.value.filter((c) => c.act?.do === "add" && c.act.session === session);

export const fieldOf = (col: number) => (col === 0 ? "exercise" : col === 1 ? "dose" : "weeks." + col);

/** What stands in a cell as the server knows it. */
const stored = (slot: string, col: number) => {
  const r = rows.value.get(slot);
  return col === 0 ? r?.name ?? "" : r?.cells[col - 1]?.typed ?? "";
};

/** What stands in a cell, and what its week comes to where nothing is typed. */
export function shown(p: Place): { text: string; comes: string; kind: "" | "wrong" | "clash" | "waits" } {
  if (adding(p.slot)) {
    const id = p.slot.slice(1);
    return { text: drafts.value[id]?.[p.col] ?? "", comes: "", kind: wrong.value[keyOf(p.slot, fieldOf(p.col))] ? "wrong" : "" };
  }
  const key = keyOf(p.slot, fieldOf(p.col));
  const comes = p.col ? rows.value.get(p.slot)?.cells[p.col - 1]?.comes ?? "" : "";
  const w = wrong.value[key], waits = pending.value.get(key);
  if (w) return { text: w.text, comes, kind: "wrong" };
  if (key in clash.value) return { text: clash.value[key], comes, kind: "clash" };
  if (waits !== undefined) return { text: waits, comes, kind: "waits" };
  return { text: stored(p.slot, p.col), comes, kind: "" };
}

/** What a person sees in a cell, as it is copied. */
export const visible = (p: Place) => { const s = shown(p); return s.text || s.comes; };

const without = <T>(from: Record<string, T>, keys: string[]) => Object.fromEntries(Object.entries(from).filter(([k]) => !keys.includes(k)));

/** Keeps what the server has not taken in the page. */
function keep() {
  sessionStorage.setItem(store + " kept", JSON.stringify({ wrong: wrong.value, clash: clash.value, drafts: drafts.value, notices: notices.value }));
}

function restore() {
  try {
    const k = JSON.parse(sessionStorage.getItem(store + " kept") ?? "{}");
    const there = new Set(slots.value);
    const ours = <T>(m: Record<string, T> = {}) => Object.fromEntries(Object.entries(m).filter(([key]) => there.has(key.split("|")[0])));
    wrong.value = ours(k.wrong);
    clash.value = ours(k.clash);
    drafts.value = k.drafts ?? {};
    notices.value = k.notices ?? [];
  } catch { /* what cannot be read was not ours */ }
}

export function say(text: string, typed = "") {
  notices.value = [...notices.value, { id: newID(), text, typed }];
  keep();
}

export function dismiss(id: string) { notices.value = notices.value.filter((n) => n.id !== id); keep(); }

/** Stores texts of cells as one change. Exercises are swapped one by one. */
export function commit(edits: { slot: string; col: number; to: string }[]) {
  const cells: CellEdit[] = [];
  const cleared: string[] = [];
  for (const e of edits) {
    const to = e.to.replace(/\s+/g, " ").trim();
    const field = fieldOf(e.col), key = keyOf(e.slot, field);
    if (adding(e.slot)) {
      const id = e.slot.slice(1), typed = [...(drafts.value[id] ?? [])];
      typed[e.col] = to;
      drafts.value = { ...drafts.value, [id]: typed };
      cleared.push(key);
      continue;
    }
    const was = pending.value.get(key) ?? stored(e.slot, e.col);
    cleared.push(key);
    if (to === was) continue;
    if (e.col === 0) {
      if (to) line.add({ id: newID(), base: state.value.version, act: { do: "swap", slot: e.slot, exercise: to } });
    } else {
      cells.push({ slot: e.slot, field, was, to });
    }
  }
  wrong.value = without(wrong.value, cleared);
  clash.value = without(clash.value, cleared);
  if (cells.length) line.add({ id: newID(), base: state.value.version, cells });
  keep();
}

/** Adds the exercise of a session's last line, if exercise and first dose are there. */
export function addDraft(session: string): boolean {
  const [exercise, ...doses] = Array.from(drafts.value[session] ?? [], (x) => x ?? "");
  if (!exercise || !doses[0]) return false;
  drafts.value = without(drafts.value, [session]);
  wrong.value = without(wrong.value, Object.keys(wrong.value).filter((k) => k.startsWith("+" + session + "|")));
  line.add({ id: newID(), base: state.value.version, act: { do: "add", session, exercise, doses } });
  keep();
  return true;
}

/** Moves, or takes out, an exercise; takes a way out; keeps a problem; takes back. */
export function act(what: Record<string, unknown> & { do: string }) {
  line.add({ id: newID(), base: state.value.version, act: what });
}

/** Takes back my last change: one that was never sent is dropped here. */
export function undo() {
  const dropped = line.takeBack();
  if (!dropped) act({ do: "undo" });
}

/** Chooses between both values of a clash. */
export function choose(key: string, mine: boolean) {
  const [slot, field] = key.split("|"), to = clash.value[key];
  clash.value = without(clash.value, [key]);
  const col = field === "dose" ? 1 : Number(field.slice("weeks.".length));
  if (mine) commit([{ slot, col, to }]); else keep();
}

/** The cell a place in the document stands for. */
function cellAt(at: string): string {
  const m = /slots\[([^\]]+)\]\.(dose|weeks\.\d+)/.exec(at);
  return m ? keyOf(m[1], m[2]) : "";
}

const cellKey = (e: CellEdit) => keyOf(e.slot, e.field);

/** What follows from the server's answer to a change. */
function answered(c: Change, a: Answer) {
  const b = a.body ?? {};
  if (a.status === 200) take(b);
  else if (b.state) take(b.state);
  if (a.status === 200) return;
  if (c.cells) refusedCells(c.cells, a); else refusedAct(c, b);
  keep();
}

/** Cells that were not stored: the wrong ones and the clashes are marked, the others are sent again. */
function refusedCells(cells: CellEdit[], a: Answer) {
  const b = a.body ?? {};
  const bad = new Map<string, string>((b.wrong ?? []).map((w: any) => [keyOf(w.slot, w.field), w.text]));
  const clashes = new Set<string>((b.conflicts ?? []).map((x: any) => cellAt(x.at)).filter(Boolean));
  if (a.status === 422 && !bad.size) {
    const at = cellAt(b.at ?? "");
    for (const e of cells) if (!at || cellKey(e) === at) bad.set(cellKey(e), b.text);
  }
  if (!bad.size && !clashes.size) {
    say(b.text ?? t("The server did not take this.", "Der Server hat das nicht angenommen."), cells.map((e) => e.to).join(" · "));
    return;
  }
  const nextWrong = { ...wrong.value }, nextClash = { ...clash.value }, rest: CellEdit[] = [];
  for (const e of cells) {
    const key = cellKey(e);
    if (!bad.has(key) && !clashes.has(key)) rest.push(e);
    else if (line.amend(e)) continue; // typed over already
    else if (bad.has(key)) nextWrong[key] = { text: e.to, why: bad.get(key)! };
    else nextClash[key] = e.to;
  }
  wrong.value = nextWrong;
  clash.value = nextClash;
  if (rest.length) line.first({ id: newID(), base: state.value.version, cells: rest });
}

/** An act that was not done: what was typed for it is not lost. */
function refusedAct(c: Change, b: any) {
  const x = c.act!;
  if (x.do === "swap" && b.reason === "refused") {
    wrong.value = { ...wrong.value, [keyOf(x.slot as string, "exercise")]: { text: x.exercise as string, why: b.text } };
    return;
  }
  if (x.do === "add") {
    const session = x.session as string, typed = [x.exercise as string, ...(x.doses as string[])];
    if (!drafts.value[session]?.some(Boolean)) {
      drafts.value = { ...drafts.value, [session]: typed };
      const field = b.at === "exercise" || /^weeks\.\d+$/.test(b.at) ? b.at : "dose";
      wrong.value = { ...wrong.value, [keyOf("+" + session, field)]: { text: "", why: b.text } };
      return;
    }
    say(b.text, typed.join(" · "));
    return;
  }
  say(b.text ?? t("The server did not take this.", "Der Server hat das nicht angenommen."), (x.why as string) ?? "");
}

let later = 0;

/** Takes the table as the server has it, and asks for the ways out where they are missing. */
function take(s: State) {
  if (s.version < state.value.version) return;
  state.value = s;
  if (!place.value.has(active.value.slot)) {
    active.value = { slot: slots.value[0] ?? "", col: active.value.col };
    anchor.value = active.value;
  }
  if (!place.value.has(anchor.value.slot)) anchor.value = active.value;
  clearTimeout(later);
  if (!s.whole) later = setTimeout(whole, 250); // after a pause in typing, ms
}

async function whole() {
  if (line.waiting.value.length || editing.value) { later = setTimeout(whole, 400); return; }
  try {
    const r = await fetch(url + "/state", { headers: { Accept: "application/json" } });
    const s: State = await r.json();
    if (r.ok && s.version >= state.value.version && !line.waiting.value.length) take(s);
  } catch { /* the next change asks again */ }
}

let asking = false, again: CellEdit | null = null;

/** Checks the block with a cell as it is being typed. The last text wins. */
export async function tryCell(p: Place, text: string) {
  const e = { slot: p.slot, field: fieldOf(p.col), was: "", to: text };
  if (asking) { again = e; return; }
  asking = true;
  const a = await post(url + "/try", { cells: [e] });
  asking = false;
  if (again) {
    const next = again;
    again = null;
    if (editing.value) void tryCell({ slot: next.slot, col: p.col }, next.to);
    return;
  }
  if (a.status !== 200 || !editing.value || active.value.slot !== p.slot || active.value.col !== p.col) return;
  tried.value = { marks: a.body.marks, side: a.body.side, wrong: a.body.wrong?.[0]?.text ?? "" };
}

function whyAway(a: Answer): string {
  if (a.status === 403) return t("You are signed out. Sign in in another tab; what you typed is kept here and is sent then.", "Sie sind abgemeldet. Melden Sie sich in einem anderen Reiter an; was Sie getippt haben, bleibt hier und wird dann gesendet.");
  if (a.status >= 400) return t("The server could not do this yet. It is kept here and tried again.", "Der Server konnte das noch nicht. Es bleibt hier und wird wieder versucht.");
  return t("The server does not answer. What you typed is kept here and is sent when it does.", "Der Server antwortet nicht. Was Sie getippt haben, bleibt hier und wird gesendet, sobald er es tut.");
}

export const line = new Line(url, store, answered, whyAway);
restore();
