// Edits on their way to the server, kept on this device until it has them.
//
// They go out one at a time in the order in which they were made. An edit holds whole bars,
// so one that has not gone out yet is overtaken by the next edit of the same bars. Each says
// what its bars were when it was made (`known`), so that nobody else's work is overwritten.

const RETRY = 4000; // ms
const PAUSE = 150; // ms, so that fast typing goes out as one edit

export class EditQueue {
  // `hear` is told of everything: keeping(count), kept(answer), offline(count), signedOut(count),
  // refused(text), collided(answer).
  constructor({ name, address, token, known, hear }) {
    Object.assign(this, { name, address, token, hear });
    this.memory = null; // in place of a storage that is full or forbidden
    this.busy = false;
    this.stopped = false;
    const { edits, known: then } = this.read();
    const waiting = Object.keys(this.bars).map((number) => [number, then[number]]);
    this.write({ edits, known: { ...known, ...Object.fromEntries(waiting) } });
    window.addEventListener("online", () => this.send());
    window.addEventListener("focus", () => this.send());
  }

  get waiting() {
    return this.read().edits.length;
  }

  // The last that was made of each bar and is still here.
  get bars() {
    return Object.assign({}, ...this.read().edits.map(({ bars }) => bars));
  }

  add(bars, shown) {
    const { edits, known } = this.read();
    const last = edits.at(-1);
    const overtakes = last && last.id !== this.sending && sameKeys(last.bars, bars);
    const id = crypto.randomUUID?.() ?? `${Date.now()}${Math.random()}`;
    this.write({ edits: [...(overtakes ? edits.slice(0, -1) : edits), { id, bars, shown }], known });
    this.hear.keeping(this.waiting);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), PAUSE);
  }

  async send() {
    if (this.busy || this.stopped) return;
    this.busy = true;
    try {
      const locks = navigator.locks;
      if (locks) await locks.request(this.name, () => this.sendAll());
      else await this.sendAll();
    } finally {
      this.busy = false;
    }
  }

  async sendAll() {
    for (let { edits } = this.read(); edits.length; { edits } = this.read()) {
      if (!(await this.sendOne(edits[0]))) return;
    }
  }

  // Whether the next may follow.
  async sendOne({ id, bars, shown }) {
    this.sending = id;
    let answer;
    try {
      answer = await fetch(this.address, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": this.token() },
        body: JSON.stringify({ shown, bars: this.withKnown(bars) }),
      });
    } catch {
      return this.later(() => this.hear.offline(this.waiting));
    } finally {
      this.sending = null;
    }
    const isOurs = answer.headers.get("Content-Type")?.startsWith("application/json");
    if (answer.status === 409 && isOurs) {
      this.stopped = true;
      this.hear.collided(await answer.json());
      return false;
    }
    if (answer.status === 422 && isOurs) {
      this.drop(id);
      this.hear.refused((await answer.json()).text);
      return true;
    }
    if (answer.ok && isOurs) {
      const body = await answer.json();
      this.learn(body.bars);
      this.drop(id);
      this.hear.kept(body, this.waiting);
      return true;
    }
    const signedOut = answer.redirected || answer.status === 403;
    return this.later(() => this.hear[signedOut ? "signedOut" : "offline"](this.waiting));
  }

  later(say) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), RETRY);
    say();
    return false;
  }

  // After a collision: send ours over what is there now, or let ours go.
  keepOurs(bars) {
    this.learn(bars);
    this.stopped = false;
    this.send();
  }

  keepTheirs(bars) {
    const theirs = Object.keys(bars);
    const { edits, known } = this.read();
    const left = edits
      .map((edit) => ({ ...edit, bars: without(edit.bars, theirs) }))
      .filter((edit) => Object.keys(edit.bars).length);
    this.write({ edits: left, known });
    this.keepOurs(bars);
  }

  withKnown(bars) {
    const { known } = this.read();
    return Object.fromEntries(
      Object.entries(bars).map(([number, bar]) => [number, { ...bar, known: known[number] }]),
    );
  }

  learn(bars) {
    const { edits, known } = this.read();
    const news = Object.entries(bars).map(([number, bar]) => [number, bar.known]);
    this.write({ edits, known: { ...known, ...Object.fromEntries(news) } });
  }

  drop(id) {
    const { edits, known } = this.read();
    this.write({ edits: edits.filter((edit) => edit.id !== id), known });
  }

  read() {
    if (this.memory) return this.memory;
    try {
      return JSON.parse(localStorage.getItem(this.name)) ?? { edits: [], known: {} };
    } catch {
      return { edits: [], known: {} };
    }
  }

  write(state) {
    try {
      localStorage.setItem(this.name, JSON.stringify(state));
      this.memory = null;
    } catch {
      this.memory = state;
    }
  }
}

const sameKeys = (a, b) => Object.keys(a).join() === Object.keys(b).join();
const without = (bars, numbers) =>
  Object.fromEntries(Object.entries(bars).filter(([number]) => !numbers.includes(number)));
