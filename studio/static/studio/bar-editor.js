// The bar editor: keys and touch on the grid, undo, sound, and edits that go out as they are made.
import * as grid from "./bar-grid.js";
import { BarSound } from "./bar-sound.js";
import { EditQueue } from "./edit-queue.js";
import { cellAt, cellInWords, drawGrid } from "./grid-table.js";

const SECOND_DIGIT = 900; // ms in which another digit joins the first
const MOST_UNDO = 200;

const root = document.getElementById("editor");
const given = JSON.parse(document.getElementById("editor-data").textContent);
const part = (name) => root.querySelector(`[data-part="${name}"]`);
const table = part("grid");
const bars = given.bars;
const here = { number: given.number, at: 0, string: given.strings[0].number };
const sound = window.AudioContext ? new BarSound(given) : null;
let soundOn = Boolean(sound) && localStorage.getItem("fourbar.editor.sound") !== "off";
let past = [];
let future = [];
let typed = null; // the digit before, while another may join it
let leaving = false;

const queue = new EditQueue({
  name: root.dataset.queue,
  address: root.dataset.keep,
  token: () => document.cookie.match(/csrftoken=([^;]+)/)?.[1] ?? "",
  known: Object.fromEntries(Object.entries(bars).map(([number, bar]) => [number, bar.known])),
  hear: {
    keeping: (count) => status(`Saving ${edits(count)}.`),
    kept,
    offline: (count) =>
      status(
        `No connection to the studio. ${capital(edits(count))} ${count === 1 ? "is" : "are"} kept on this device ` +
          "and will go out in order when it is back. You can go on, also after closing this page.",
        true,
      ),
    signedOut: (count) =>
      status(
        `You are signed out. ${capital(edits(count))} ${count === 1 ? "stays" : "stay"} on this device ` +
          "and will go out when you have signed in again in another tab.",
        true,
      ),
    refused: (text) => status(`Not kept: ${text}`, true),
    collided,
  },
});

const edits = (count) => (count === 1 ? "one edit" : `${count} edits`);
const capital = (text) => text[0].toUpperCase() + text.slice(1);
const bar = () => bars[here.number];
const counts = () => grid.countWords(bar(), given.words);

// --- What is shown --------------------------------------------------------------------------

function draw({ focus = false } = {}) {
  const last = bar().columns.length - 1;
  here.at = Math.min(here.at, last);
  drawGrid(table, bar(), given, here);
  table.setAttribute("aria-label", `Bar ${here.number}, strings by counts`);
  if (focus) cellAt(table, here)?.focus();
  for (const [name, list] of [["undo", past], ["redo", future]]) {
    key(name).setAttribute("aria-disabled", String(list.length === 0));
  }
}

const key = (name) => root.querySelector(`[data-do="${name}"]`);

function say(text) {
  part("said").textContent = text;
}

function status(text, fault = false) {
  part("status").textContent = text;
  part("status").classList.toggle("fault", fault);
}

function showEngraved({ strip, words }) {
  if (strip === undefined) return;
  part("engraved").innerHTML = strip; // our own engraver's, its texts escaped
  part("words").textContent = words;
}

function kept(answer, waiting) {
  showEngraved(answer);
  status(waiting ? `Saving ${edits(waiting)}.` : `Everything is kept, as revision ${answer.revision}.`);
  if (!waiting && leaving) part("done").submit();
}

function collided({ bars: theirs }) {
  const numbers = Object.keys(theirs).join(" and ");
  status(`Bar ${numbers} was changed by somebody else in the meantime. Nothing of theirs was overwritten.`, true);
  const choice = part("collision");
  choice.hidden = false;
  choice.querySelector('[data-do="ours"]').onclick = () => {
    choice.hidden = true;
    queue.keepOurs(theirs);
  };
  choice.querySelector('[data-do="theirs"]').onclick = () => {
    choice.hidden = true;
    Object.assign(bars, theirs);
    [past, future] = [[], []];
    queue.keepTheirs(theirs);
    draw({ focus: true });
    look();
  };
}

// --- Changes, each of which can be undone -----------------------------------------------------

function change(after, { at = here.at, join = false } = {}) {
  const numbers = Object.keys(after);
  const before = Object.fromEntries(numbers.map((number) => [number, contents(bars[number])]));
  const place = { ...here };
  if (join && past.length) past.at(-1).after = after;
  else past.push({ before, after, place });
  past = past.slice(-MOST_UNDO);
  future = [];
  here.at = at;
  take(after);
  const now = cellInWords(bar(), here.at, here.string, counts(), given.spoken);
  say(now);
  if (soundOn && bar().columns[here.at].event) sound.column(bar().columns, here.at);
}

const contents = ({ columns, chords }) => ({ columns, chords });
const columnsOnly = (columns) => ({ [here.number]: { columns, chords: bar().chords } });

function take(news) {
  for (const [number, { columns, chords }] of Object.entries(news)) {
    bars[number] = { ...bars[number], columns, chords };
  }
  queue.add(news, here.number);
  draw({ focus: table.contains(document.activeElement) });
}

function step(from, to, side, word) {
  const entry = from.pop();
  if (!entry) return say(`There is nothing to ${word}.`);
  to.push(entry);
  const elsewhere = entry.place.number !== here.number;
  Object.assign(here, entry.place);
  if (elsewhere) entitle();
  take(entry[side]);
  say(`${word === "undo" ? "Undone" : "Redone"}. ${cellInWords(bar(), here.at, here.string, counts(), given.spoken)}`);
}

function digit(figure) {
  const { number, at, string } = here;
  const now = performance.now();
  const joins = typed && typed.number === number && typed.at === at && typed.string === string;
  const both = joins && now - typed.when < SECOND_DIGIT ? Number(`${typed.figure}${figure}`) : null;
  const isTwo = both !== null && typed.figure !== "0" && both <= given.frets;
  change(columnsOnly(grid.setFret(bar().columns, at, string, isTwo ? both : Number(figure))), { join: isTwo });
  typed = isTwo ? null : { figure, number, at, string, when: now };
}

const actions = {
  rest: () => change(columnsOnly(grid.rest(bar().columns, here.at))),
  hold: () => change(columnsOnly(grid.hold(bar().columns, here.at, soundingBefore()))),
  delete: () => change(columnsOnly(grid.remove(bar().columns, here.at, here.string))),
  higher: () => change(columnsOnly(grid.shift(bar().columns, here.at, here.string, 1, given.frets))),
  lower: () => change(columnsOnly(grid.shift(bar().columns, here.at, here.string, -1, given.frets))),
  mute: () => change(columnsOnly(grid.mute(bar().columns, here.at, here.string))),
  divide: () => change(columnsOnly(grid.divide(bar().columns, here.at, 2))),
  thirds: () => change(columnsOnly(grid.divide(bar().columns, here.at, 3))),
  join: () => {
    const [columns, at] = grid.join(bar(), here.at);
    change(columnsOnly(columns), { at });
  },
  undo: () => step(past, future, "before", "undo"),
  redo: () => step(future, past, "after", "redo"),
  copy: openCopy,
  play: () => sound?.bar(bar().columns, given.beats[here.number]),
  sound: () => {
    soundOn = Boolean(sound) && !soundOn;
    localStorage.setItem("fourbar.editor.sound", soundOn ? "on" : "off");
    key("sound").setAttribute("aria-pressed", String(soundOn));
    say(soundOn ? "Sound on." : "Sound off.");
  },
  before: () => go(-1),
  next: () => go(1),
};

function act(name) {
  if (name !== "digit") typed = null;
  try {
    actions[name]();
  } catch (refusal) {
    if (!(refusal instanceof grid.Refusal)) throw refusal;
    say(refusal.message);
  }
}

function soundingBefore() {
  const before = bars[here.number - 1];
  return before ? grid.lastSounding(before.columns) : [];
}

// --- Going about --------------------------------------------------------------------------------

function go(by) {
  const number = here.number + by;
  if (!bars[number]) return say(by > 0 ? "This is the last bar." : "This is the first bar.");
  closeCopy();
  Object.assign(here, { number, at: 0 });
  draw({ focus: table.contains(document.activeElement) });
  entitle();
  say(`Bar ${number}. ${cellInWords(bar(), here.at, here.string, counts(), given.spoken)}`);
  look();
}

// The page's titles and address follow the bar.
function entitle() {
  const name = `Bar ${here.number}`;
  for (const title of document.querySelectorAll('[data-part="number"]')) title.textContent = name;
  document.title = document.title.replace(/^Edit bar \d+/, `Edit bar ${here.number}`);
  history.replaceState(null, "", root.dataset.page.replace("/bars/0/", `/bars/${here.number}/`));
}

// Ask for the bar as it is engraved; without a connection it comes with the next edit.
async function look() {
  part("engraved").replaceChildren();
  part("words").textContent = "";
  const number = here.number;
  try {
    const answer = await fetch(root.dataset.keep, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": queue.token() },
      body: JSON.stringify({ bars: {}, shown: number }),
    });
    if (answer.ok && here.number === number) showEngraved(await answer.json());
  } catch {
    part("words").textContent = "It is engraved when the connection is back.";
  }
}

const strings = given.strings.map(({ number }) => number);

function move(down, across) {
  const row = strings.indexOf(here.string) + down;
  const at = here.at + across;
  if (at < 0 || at >= bar().columns.length) {
    if (!bars[here.number + across]) return;
    go(across);
    if (across < 0) here.at = bar().columns.length - 1;
    return draw({ focus: true });
  }
  here.at = at;
  here.string = strings[Math.min(Math.max(row, 0), strings.length - 1)];
  focusHere();
}

function focusHere() {
  typed = null;
  table.querySelector('[tabindex="0"]')?.setAttribute("tabindex", "-1");
  const cell = cellAt(table, here);
  cell.setAttribute("tabindex", "0");
  cell.focus();
}

const moves = {
  ArrowUp: () => move(-1, 0),
  ArrowDown: () => move(1, 0),
  ArrowLeft: () => move(0, -1),
  ArrowRight: () => move(0, 1),
  Home: () => move(0, -here.at),
  End: () => move(0, bar().columns.length - 1 - here.at),
};

const letters = Object.fromEntries(
  [...root.querySelectorAll("[data-key]")].map((button) => [button.dataset.key.toLowerCase(), button.dataset.do]),
);

table.addEventListener("keydown", (event) => {
  const control = event.ctrlKey || event.metaKey;
  const letter = event.key === "=" ? "+" : event.key.toLowerCase();
  if (control && (letter === "z" || letter === "y")) {
    event.preventDefault();
    return act(letter === "y" || event.shiftKey ? "redo" : "undo");
  }
  if (control || event.altKey) return;
  if (moves[event.key]) moves[event.key]();
  else if (/^\d$/.test(event.key)) attempt(() => digit(event.key));
  else if (event.key === "Delete" || event.key === "Backspace") act("delete");
  else if (letters[letter]) act(letters[letter]);
  else return;
  event.preventDefault();
});

function attempt(what) {
  actions.digit = what;
  act("digit");
}

table.addEventListener("focusin", ({ target }) => {
  const cell = target.closest("[data-at]");
  if (!cell) return;
  Object.assign(here, { at: Number(cell.dataset.at), string: Number(cell.dataset.string) });
  table.querySelector('[tabindex="0"]')?.setAttribute("tabindex", "-1");
  cell.setAttribute("tabindex", "0");
});

// A touched key acts on the cell that has the focus, and leaves it there.
for (const button of root.querySelectorAll(".keys button")) {
  for (const press of ["pointerdown", "mousedown"]) {
    button.addEventListener(press, (event) => event.preventDefault());
  }
  button.addEventListener("click", () => {
    const { do: name, digit: figure } = button.dataset;
    if (figure) attempt(() => digit(figure));
    else act(name);
  });
}

// --- Copying the bar to others --------------------------------------------------------------------

function alike() {
  const mine = JSON.stringify(lengthAndMeter(bar()));
  return Object.keys(bars).filter(
    (number) => Number(number) !== here.number && JSON.stringify(lengthAndMeter(bars[number])) === mine,
  );
}

const lengthAndMeter = ({ meter, columns }) => [
  meter,
  columns.map(({ length }) => grid.fraction(length)).reduce(grid.add),
];

function openCopy() {
  const others = alike();
  if (!others.length) return say("No other bar is as long as this one.");
  part("copy-title").textContent = `Copy bar ${here.number} to`;
  part("copy-bars").replaceChildren(
    ...others.map((number) => {
      const label = document.createElement("label");
      const box = document.createElement("input");
      Object.assign(box, { type: "checkbox", value: number });
      label.append(box, ` ${number}`);
      return label;
    }),
  );
  part("copy").hidden = false;
  part("copy-bars").querySelector("input").focus();
}

function closeCopy() {
  part("copy").hidden = true;
}

part("copy").addEventListener("submit", (event) => {
  event.preventDefault();
  const chosen = [...part("copy-bars").querySelectorAll(":checked")].map(({ value }) => value);
  closeCopy();
  if (chosen.length) change(Object.fromEntries(chosen.map((number) => [number, contents(bar())])));
  focusHere();
  const list = chosen.join(", ");
  say(list ? `Copied to bar${chosen.length > 1 ? "s" : ""} ${list}.` : "Copied to no bar.");
});
part("copy").addEventListener("keydown", ({ key: pressed }) => {
  if (pressed !== "Escape") return;
  closeCopy();
  focusHere();
});
part("copy-close").addEventListener("click", () => {
  closeCopy();
  focusHere();
});

part("done").addEventListener("submit", (event) => {
  if (!queue.waiting) return;
  event.preventDefault();
  leaving = true;
  say("The last edits go out first.");
  queue.send();
});

// --- Beginning ---------------------------------------------------------------------------------------

for (const [number, edit] of Object.entries(queue.bars)) {
  if (bars[number]) Object.assign(bars[number], contents(edit));
}
key("sound").setAttribute("aria-pressed", String(soundOn));
if (!sound) for (const name of ["sound", "play"]) key(name).hidden = true;
root.hidden = false;
draw();
if (queue.waiting) {
  status(`${capital(edits(queue.waiting))} from before had not gone out yet.`);
  queue.send();
}
