// Plucked strings: a burst of noise runs round a delay line and is averaged at each turn
// (Karplus and Strong, Computer Music Journal 7(2), 1983). Each pitch is rendered once.
//
// A delay line has a whole number of samples, which alone would be up to 26 cents off on
// the first string. Averaging with the next sample hastens every partial by exactly half a
// sample, so the pitch that was rendered is known, and playbackRate makes up for the rest.

const RINGS = 3; // s until a string has died away by 60 dB
const PLUCKED_AT = 0.19; // of the string's length from the bridge
const LEVEL = 0.25; // of one string, so that six together stay within full scale

const rendered = new Map(); // "pitch@rate" to AudioBuffer

// Hz of a MIDI pitch in equal temperament, A4 = 69 = 440 Hz (ISO 16).
export const frequency = (midi) => 440 * 2 ** ((midi - 69) / 12);

// Samples of the delay line whose pitch lies nearest.
const lineOf = (midi, rate) => Math.round(rate / frequency(midi) + 0.5);

// How fast the rendered buffer of a pitch is to be played to be in tune.
export const tuning = (midi, rate) => (frequency(midi) * (lineOf(midi, rate) - 0.5)) / rate;

// Sound a string on any audio context, live or offline: `at` in its seconds, damped after
// `seconds`. Returns the source, so that a caller can stop() it.
export function pluck(audio, midi, at, seconds = RINGS, { level = LEVEL, to = audio.destination } = {}) {
  const source = audio.createBufferSource();
  source.buffer = bufferOf(audio, midi);
  source.playbackRate.value = tuning(midi, audio.sampleRate);
  const hand = audio.createGain();
  hand.gain.setValueAtTime(level, at);
  hand.gain.setTargetAtTime(0, at + seconds, 0.02);
  source.connect(hand).connect(to);
  source.start(at);
  source.stop(at + seconds + 0.15);
  return source;
}

// Render the strings of these pitches before they are needed in time.
export function prepare(audio, pitches) {
  for (const midi of new Set(pitches)) bufferOf(audio, midi);
}

function bufferOf(audio, midi) {
  const name = `${midi}@${audio.sampleRate}`;
  if (!rendered.has(name)) {
    const samples = render(midi, audio.sampleRate);
    const buffer = audio.createBuffer(1, samples.length, audio.sampleRate);
    buffer.copyToChannel(samples, 0);
    rendered.set(name, buffer);
  }
  return rendered.get(name);
}

// One string as samples between -1 and 1, before it is brought into tune.
export function render(midi, rate) {
  const length = lineOf(midi, rate);
  const kept = 10 ** (-3 / (RINGS * frequency(midi))); // of the sound, at each turn
  const line = burst(length);
  const samples = new Float32Array(Math.round(RINGS * rate));
  for (let n = 0, at = 0; n < samples.length; n += 1) {
    const next = at + 1 === length ? 0 : at + 1;
    samples[n] = line[at];
    line[at] = (kept * (line[at] + line[next])) / 2;
    at = next;
  }
  return toFullScale(samples);
}

// The same noise each time, without a lean to either side, and hollow where the finger
// plucks: a partial that has a node there cannot sound.
function burst(length) {
  const noise = new Float64Array(length);
  let seed = 7;
  for (let n = 0; n < length; n += 1) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0; // Numerical Recipes' generator
    noise[n] = seed / 2 ** 31 - 1;
  }
  const back = Math.max(1, Math.round(length * PLUCKED_AT));
  const comb = noise.map((value, n) => value - noise[(n + length - back) % length]);
  const soft = comb.map((value, n) => (value + comb[(n + length - 1) % length]) / 2);
  const lean = soft.reduce((sum, value) => sum + value, 0) / length;
  return soft.map((value) => value - lean);
}

function toFullScale(samples) {
  const peak = samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  return samples.map((value) => value / peak);
}
