// The line to the server: changes wait in it until the server has answered. Each has
// the id it was given when it was made; sent twice, it is applied once. What waits is
// kept in the page's session store, so that a reload loses nothing.
import { signal } from "@preact/signals";

export interface CellEdit { slot: string; field: string; was: string; to: string }

/** A change: cells that were typed, or one act. Its content is fixed once it was sent. */
export interface Change {
  id: string;
  base: number;
  sent?: boolean;
  cells?: CellEdit[];
  act?: Record<string, unknown> & { do: string };
}

export interface Answer { status: number; body: any }

const firstWait = 500, longestWait = 15000, answerWithin = 20000; // ms

/** A new id: 24 hexadecimal digits. */
export function newID(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");
}

/** Sends JSON and reads JSON; no answer is status 0. */
export async function post(url: string, body: unknown, stop?: AbortSignal): Promise<Answer> {
  const late = AbortSignal.timeout(answerWithin);
  try {
    const r = await fetch(url, {
      method: "POST", body: JSON.stringify(body), signal: stop ? AbortSignal.any([stop, late]) : late,
      headers: { "Content-Type": "application/json", Accept: "application/json" },
    });
    return { status: r.status, body: await r.json() };
  } catch {
    return { status: 0, body: null };
  }
}

export class Line {
  readonly waiting = signal<Change[]>([]);
  readonly away = signal(""); // why nothing gets through, in words; empty while it does
  private busy = false;
  private wait = firstWait;
  private timer = 0;

  constructor(private url: string, private key: string, private done: (c: Change, a: Answer) => void, private why: (a: Answer) => string) {
    try {
      this.waiting.value = JSON.parse(sessionStorage.getItem(key) ?? "[]");
    } catch { /* what cannot be read was not ours */ }
    addEventListener("online", () => this.now());
    addEventListener("beforeunload", (e) => { if (this.waiting.value.length) e.preventDefault(); });
    setTimeout(() => this.send());
  }

  /** Puts a change at the end. */
  add(c: Change) {
    this.set([...this.waiting.value, c]);
    void this.send();
  }

  /** Takes back the last change if it was never sent. */
  takeBack(): Change | undefined {
    const last = this.waiting.value.at(-1);
    if (!last || last.sent) return undefined;
    this.set(this.waiting.value.slice(0, -1));
    return last;
  }

  /** Puts a change before those that wait. */
  first(c: Change) {
    this.set([c, ...this.waiting.value]);
    void this.send();
  }

  /** A cell was not stored: what was typed over it since started from what stood there before. Says whether anything was. */
  amend(e: CellEdit): boolean {
    const next = this.waiting.value.find((c) => !c.sent && c.cells?.some((x) => x.slot === e.slot && x.field === e.field));
    const cell = next?.cells!.find((x) => x.slot === e.slot && x.field === e.field);
    if (cell) cell.was = e.was;
    return !!cell;
  }

  /** Tries again at once. */
  now() {
    clearTimeout(this.timer);
    this.wait = firstWait;
    void this.send();
  }

  private set(list: Change[]) {
    this.waiting.value = list;
    sessionStorage.setItem(this.key, JSON.stringify(list));
  }

  private async send() {
    if (this.busy) return;
    this.busy = true;
    while (this.waiting.value.length) {
      const c = this.waiting.value[0];
      c.sent = true;
      this.set([...this.waiting.value]);
      const a = c.cells
        ? await post(this.url + "/type", { id: c.id, base: c.base, cells: c.cells })
        : await post(this.url + "/act", { id: c.id, ...c.act });
      if (a.status === 0 || a.status >= 500 || a.status === 403 || a.status === 429) { // not done, or not known to be done
        this.away.value = this.why(a);
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.send(), this.wait);
        this.wait = Math.min(2 * this.wait, longestWait);
        break;
      }
      this.away.value = "";
      this.wait = firstWait;
      this.set(this.waiting.value.slice(1));
      this.done(c, a);
    }
    this.busy = false;
  }
}
