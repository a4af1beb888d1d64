// The click, and the clockwork behind everything that is heard in time.
//
// A timer of the page can be late by as long as the page is busy, so it never starts a
// sound itself. It looks ahead and hands over each sound with its exact time on the
// sound card's own clock: how late the timer is does not matter until it misses a whole
// look-ahead. A hidden page's timer runs once a second, so it then looks further.

const EVERY = 25; // ms between looks
const AHEAD = 0.4; // s handed over in advance
const AHEAD_HIDDEN = 1.6;
const LENGTH = 0.05; // s of a click

// Sound a click at `at`; the first of a bar is a fifth higher and louder.
export function click(audio, at, first, to = audio.destination) {
  const tone = audio.createOscillator();
  const level = audio.createGain();
  tone.frequency.value = first ? 1568 : 1047;
  level.gain.setValueAtTime(first ? 0.5 : 0.32, at);
  level.gain.exponentialRampToValueAtTime(0.001, at + LENGTH);
  tone.connect(level).connect(to);
  tone.start(at);
  tone.stop(at + LENGTH + 0.01);
  return tone;
}

// Call `schedule(until)` often enough that everything before `until`, in the audio's
// seconds, is handed over in time. Returns a function that ends it.
export function lookAhead(audio, schedule) {
  const look = () => schedule(audio.currentTime + (document.hidden ? AHEAD_HIDDEN : AHEAD));
  const timer = setInterval(look, EVERY);
  document.addEventListener("visibilitychange", look);
  look();
  return () => {
    clearInterval(timer);
    document.removeEventListener("visibilitychange", look);
  };
}
