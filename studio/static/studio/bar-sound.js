// A bar, or one column of it, on plucked strings.
import { fraction, notesOf, onsets, value } from "./bar-grid.js";
import { pluck } from "./strings.js";

const STRUM = 0.012; // s between two strings of one stroke
const SHORT = 1.2; // s that a single column rings

export class BarSound {
  constructor({ strings, tempo }) {
    this.open = new Map(strings.map(({ number, pitch }) => [number, pitch]));
    this.tempo = tempo;
    this.sources = [];
  }

  // Sound what begins at a column.
  column(columns, at) {
    this.stop();
    this.strike(notesOf(columns[at].event), this.audio().currentTime + 0.02, SHORT);
  }

  // Play the bar through; `beat` is the length of a metronome beat.
  bar(columns, beat) {
    this.stop();
    const starts = onsets(columns).map(value);
    const second = 60 / this.tempo / value(fraction(beat));
    const from = this.audio().currentTime + 0.1;
    columns.forEach(({ event }, at) => {
      if (event === null) return;
      const next = columns.findIndex((column, place) => place > at && column.event !== null);
      const last = starts.at(-1) + value(fraction(columns.at(-1).length));
      const lasts = ((next === -1 ? last : starts[next]) - starts[at]) * second;
      const struck = notesOf(event).filter((note) => !note.tied);
      this.strike(struck, from + starts[at] * second, lasts);
    });
  }

  strike(notes, at, seconds) {
    notes
      .filter((note) => !note.muted)
      .forEach((note, place) => {
        const pitch = note.harmonic && note.pitch ? note.pitch : this.open.get(note.string) + note.fret;
        this.sources.push(pluck(this.audio(), pitch, at + place * STRUM, seconds));
      });
  }

  stop() {
    for (const source of this.sources) source.stop();
    this.sources = [];
  }

  audio() {
    this.context ??= new AudioContext();
    this.context.resume();
    return this.context;
  }
}
