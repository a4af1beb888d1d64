// A bar as columns of strings: what each key of the editor makes of it. No page here.
//
// A column is { length: "1/8", event } as the server writes events; event is null where the
// one before goes on. Nothing is changed in place: each function returns new columns, or
// throws a Refusal whose message says in words why nothing was done.

export class Refusal extends Error {}

export const UNSAID = "·"; // a place in the count for which there is no word

const SHORTEST = 64; // no column shorter than a 64th, or a third of one
const MOST_COLUMNS = 128;

export const fraction = (text) => {
  const [over, under = "1"] = String(text).split("/");
  return lowest(Number(over), Number(under));
};
export const add = ([a, b], [c, d]) => lowest(a * d + c * b, b * d);
export const ratio = ([a, b], [c, d]) => lowest(a * d, b * c);
export const value = ([a, b]) => a / b;
const written = ([a, b]) => (b === 1 ? `${a}` : `${a}/${b}`);

function lowest(over, under) {
  let [a, b] = [Math.abs(over), Math.abs(under)];
  while (b) [a, b] = [b, a % b];
  return [over / (a || 1), under / (a || 1)];
}

// Onsets of the columns, from the barline.
export function onsets(columns) {
  let at = [0, 1];
  return columns.map(({ length }) => {
    const here = at;
    at = add(at, fraction(length));
    return here;
  });
}

// Where each column stands in the count: number of its count, and its place within it.
export function places(bar) {
  return onsets(bar.columns).map((onset) => {
    const [over, under] = ratio(add(onset, fraction(bar.begins)), fraction(bar.unit));
    const count = Math.floor(over / under);
    return { count: count + 1, part: lowest(over - count * under, under) };
  });
}

// What is said on each column: { text, kind } with kind struck, held or rest.
export function countWords(bar, words) {
  return places(bar).map(({ count, part: [over, under] }, at) => {
    const said = over === 0 ? `${count}` : (words[under]?.[over - 1] ?? UNSAID);
    return { text: said, kind: kindAt(bar.columns, at), onBeat: over === 0, count };
  });
}

export const notesOf = (event) => event?.notes ?? [];

// The place of the event that sounds, or is silent, at a column.
export function owner(columns, at) {
  let place = at;
  while (place > 0 && columns[place].event === null) place -= 1;
  return place;
}

export function kindAt(columns, at) {
  const place = owner(columns, at);
  const notes = notesOf(columns[place].event);
  if (notes.length === 0) return "rest";
  return place === at && notes.some((note) => !note.tied) ? "struck" : "held";
}

export const noteAt = (columns, at, string) =>
  notesOf(columns[at].event).find((note) => note.string === string);

export function setFret(columns, at, string, fret) {
  const { finger, harmonic, muted, tied, pitch, ...kept } = noteAt(columns, at, string) ?? {};
  const same = finger !== undefined && noteAt(columns, at, string).fret === fret;
  return withNote(columns, at, { ...kept, ...(same ? { finger } : {}), string, fret });
}

export function shift(columns, at, string, by, frets) {
  const note = noteAt(columns, at, string);
  if (!note || note.muted) throw new Refusal("There is no fret on this string here.");
  const fret = note.fret + by;
  if (fret < 0 || fret > frets) throw new Refusal(`Frets run from 0 to ${frets}.`);
  return setFret(columns, at, string, fret);
}

export function mute(columns, at, string) {
  if (noteAt(columns, at, string)?.muted) return remove(columns, at, string);
  return withNote(columns, at, { string, fret: 0, pitch: null, muted: true });
}

function withNote(columns, at, note) {
  const silent = kindAt(columns, at) === "rest";
  const event = columns[at].event ?? {};
  const notes = [...notesOf(event).filter((other) => other.string !== note.string), note];
  const made = replaced(columns, at, { ...event, notes: notes.sort((a, b) => b.string - a.string) });
  // A note put into a rest fills its own column; the rest goes on after it.
  if (silent && columns[at + 1]?.event === null) made[at + 1] = { ...made[at + 1], event: {} };
  return made;
}

export function remove(columns, at, string) {
  if (!noteAt(columns, at, string)) throw new Refusal("There is nothing on this string here.");
  const { event } = columns[at];
  const notes = event.notes.filter((note) => note.string !== string);
  if (notes.length) return replaced(columns, at, { ...event, notes });
  const goesOn = at > 0 && kindAt(columns, at - 1) !== "rest";
  return replaced(columns, at, goesOn ? null : {});
}

export function rest(columns, at) {
  if (kindAt(columns, at) === "rest") throw new Refusal("This is a rest already.");
  return replaced(columns, at, {});
}

// `before` is what sounds at the end of the bar before, for the first column.
export function hold(columns, at, before) {
  if (columns[at].event === null) throw new Refusal("This goes on from before already.");
  if (at > 0) return replaced(columns, at, null);
  if (!before.length) throw new Refusal("Nothing sounds before this bar that could be held.");
  const notes = before.map(({ string, fret, pitch }) => ({ string, fret, pitch, tied: true }));
  return replaced(columns, at, { notes });
}

export function divide(columns, at, parts) {
  const [over, under] = fraction(columns[at].length);
  const length = lowest(over, under * parts);
  if (length[1] > SHORTEST * 3 || columns.length + parts > MOST_COLUMNS) {
    throw new Refusal("This is too short to be divided.");
  }
  const others = Array.from({ length: parts - 1 }, () => ({ length: written(length), event: null }));
  const first = { ...columns[at], length: written(length) };
  return [...columns.slice(0, at), first, ...others, ...columns.slice(at + 1)];
}

// Join a column with the next of its count, or the last with the one before: [columns, at].
export function join(bar, at) {
  const counts = places(bar).map(({ count }) => count);
  const { columns } = bar;
  const first = counts[at + 1] === counts[at] ? at : at - 1;
  if (counts[first] !== counts[at] || counts[first + 1] !== counts[at]) {
    throw new Refusal("This count is whole. Hold makes a note last into it.");
  }
  const length = written(add(fraction(columns[first].length), fraction(columns[first + 1].length)));
  const joined = { ...columns[first], length };
  return [[...columns.slice(0, first), joined, ...columns.slice(first + 2)], first];
}

// The notes that sound at the end of a bar.
export function lastSounding(columns) {
  return notesOf(columns[owner(columns, columns.length - 1)].event).filter((note) => !note.muted);
}

function replaced(columns, at, event) {
  return columns.map((column, place) => (place === at ? { ...column, event } : column));
}
