// Draws a bar as a table of strings by counts, one cell of it in the tab order.
import { UNSAID, countWords, fraction, kindAt, noteAt, onsets, owner, value } from "./bar-grid.js";

const CELL = 2.5; // rem, what a finger needs

const JOINS = { hammer: "hammered on", pull: "pulled off", slide: "slid to" };

// Fill `table` with `bar`; `here` is { at, string } of the cell that has the focus.
export function drawGrid(table, bar, { strings, words, spoken }, here) {
  const counts = countWords(bar, words);
  const spans = spansOf(bar.columns);
  const rows = strings.map((string) => stringRow(bar, string, counts, spans, spoken, here));
  table.replaceChildren(chordRow(bar, spans), ...rows, countRow(counts, spans));
  const units = spans.reduce((sum, span) => sum + span, 0);
  table.style.minWidth = `${(units / Math.min(...spans)) * CELL + 2}rem`;
}

export function cellAt(table, { at, string }) {
  return table.querySelector(`[data-at="${at}"][data-string="${string}"]`);
}

// What a voice says of a cell.
export function cellInWords(bar, at, string, counts, spoken) {
  return `${placeInWords(counts, at, spoken)}, string ${string}: ${stringInWords(bar.columns, at, string)}`;
}

function placeInWords(counts, at, spoken) {
  const { text, onBeat, count } = counts[at];
  return onBeat ? `Count ${count}` : `Count ${count} ${text === UNSAID ? "then" : (spoken[text] ?? text)}`;
}

function stringInWords(columns, at, string) {
  if (columns[at].event !== null) {
    const note = noteAt(columns, at, string);
    if (note) return noteInWords(note);
    return kindAt(columns, at) === "rest" ? "rest" : "empty";
  }
  const note = noteAt(columns, owner(columns, at), string);
  if (note) return `${noteInWords(note)}, held`;
  return kindAt(columns, at) === "rest" ? "rest" : "empty";
}

function noteInWords(note) {
  if (note.muted) return "muted";
  const fret = note.fret === 0 ? "open" : `fret ${note.fret}`;
  const how = [note.harmonic && "harmonic", note.tied && "held", JOINS[note.join]].filter(Boolean);
  return [fret, ...how].join(", ");
}

// Whole columns of the table for each column of the bar, so that time runs evenly.
function spansOf(columns) {
  const lengths = columns.map(({ length }) => fraction(length));
  const under = lengths.reduce((all, [, one]) => (all * one) / common(all, one), 1);
  const whole = lengths.map(([over, one]) => (over * under) / one);
  const shared = whole.reduce(common);
  return whole.map((span) => span / shared);
}

const common = (a, b) => (b ? common(b, a % b) : a);

function stringRow(bar, { number, name }, counts, spans, spoken, here) {
  const row = document.createElement("tr");
  const head = document.createElement("th");
  head.scope = "row";
  head.textContent = name;
  head.title = `String ${number}`;
  row.append(head);
  bar.columns.forEach((_, at) => {
    const cell = document.createElement("td");
    const isHere = here.at === at && here.string === number;
    cell.tabIndex = isHere ? 0 : -1;
    cell.colSpan = spans[at];
    Object.assign(cell.dataset, { at, string: number });
    cell.className = `${kindAt(bar.columns, at)}${counts[at].onBeat ? " beat" : ""}`;
    cell.setAttribute("aria-label", cellInWords(bar, at, number, counts, spoken));
    const shown = figure(bar.columns, at, number);
    if (shown) {
      const text = document.createElement("span");
      text.textContent = shown;
      cell.append(text);
    }
    row.append(cell);
  });
  return row;
}

function figure(columns, at, string) {
  const note = columns[at].event && noteAt(columns, at, string);
  if (!note) return "";
  if (note.muted) return "x";
  const fret = note.harmonic ? `<${note.fret}>` : `${note.fret}`;
  return note.tied ? `(${fret})` : fret;
}

const MARKS = { struck: (text) => text, held: (text) => `(${text})`, rest: (text) => `[${text}]` };

function countRow(counts, spans) {
  const row = document.createElement("tr");
  row.className = "counts";
  row.append(document.createElement("td"));
  counts.forEach(({ text, kind, onBeat }, at) => {
    const head = document.createElement("th");
    head.scope = "col";
    head.colSpan = spans[at];
    head.className = `${kind}${onBeat ? " beat" : ""}`;
    head.textContent = MARKS[kind](text);
    row.append(head);
  });
  return row;
}

function chordRow(bar, spans) {
  const row = document.createElement("tr");
  row.className = "chords";
  row.append(document.createElement("td"));
  const starts = onsets(bar.columns).map(value);
  bar.columns.forEach((_, at) => {
    const cell = document.createElement("td");
    cell.colSpan = spans[at];
    const ends = starts[at + 1] ?? Infinity;
    const here = bar.chords.filter(([onset]) => {
      const on = value(fraction(onset));
      return on >= starts[at] && on < ends;
    });
    cell.textContent = here.map(([, symbol]) => symbol).join(" ");
    row.append(cell);
  });
  return row;
}

