// A click by Web Audio. A timer looks ahead and hands each click its exact time, so that
// a busy page cannot make it late.
const TICK = 25; // ms between looks
const AHEAD = 0.3; // s scheduled in advance

export class Metronome {
  constructor({ beats = 4 } = {}) {
    this.beats = beats;
    this.timer = 0;
  }

  get running() {
    return this.timer !== 0;
  }

  start(tempo) {
    this.stop();
    this.audio ??= new AudioContext();
    this.audio.resume();
    this.step = 60 / tempo;
    this.beat = 0;
    this.next = this.audio.currentTime + 0.1;
    this.timer = setInterval(() => this.look(), TICK);
    this.look();
  }

  stop() {
    clearInterval(this.timer);
    this.timer = 0;
  }

  look() {
    while (this.next < this.audio.currentTime + AHEAD) {
      click(this.audio, this.next, this.beat % this.beats === 0);
      this.next += this.step;
      this.beat += 1;
    }
  }
}

function click(audio, at, first) {
  const tone = audio.createOscillator();
  const level = audio.createGain();
  tone.frequency.value = first ? 1568 : 1047;
  level.gain.setValueAtTime(first ? 0.5 : 0.3, at);
  level.gain.exponentialRampToValueAtTime(0.001, at + 0.05);
  tone.connect(level).connect(audio.destination);
  tone.start(at);
  tone.stop(at + 0.06);
}
