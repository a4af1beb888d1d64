// Plays a loop: count-in, click, strings, and the queue that the highlight follows.
//
// A loop is data from the server, times in metronome beats: { beats, lead, countIn and
// clicks: [at, first], plucks: [at, lasts, pitch, step, how], counts: [at, id] }.
import { click, lookAhead } from "./metronome.js";
import { pluck, prepare } from "./strings.js";

const STRUM = 0.012; // s from string to string
const LEVELS = { "": 0.25, soft: 0.14, muted: 0.2 };
const BEGIN = 0.12; // s from the tap to the first click

// All that happens in the loop, without end and in order: [beat, kind, detail].
export function* happenings(loop, { strings }) {
  for (const [at, first] of loop.countIn) yield [at, "click", first];
  const once = [
    ...loop.clicks.map(([at, first]) => [at, "click", first]),
    ...loop.counts.map(([at, id]) => [at, "count", id]),
    ...(strings ? loop.plucks.map((one) => [one[0], "pluck", one]) : []),
  ].sort((a, b) => a[0] - b[0]);
  for (let pass = 0; once.length; pass += 1) {
    const from = loop.lead + pass * loop.beats;
    for (const [at, kind, detail] of once) yield [from + at, kind, detail];
  }
}

// Hand everything over to `audio` as time is asked for: schedule(until) sounds what lies
// before `until`. What could only come late is left out, so that the beat stands; `late`
// counts it. `seen` gets { at, id } of each count, for the eye.
export function scheduler(audio, loop, { tempo, strings, startAt, to = audio.destination, seen = () => {} }) {
  const beat = 60 / tempo;
  const line = happenings(loop, { strings });
  let next = line.next();
  const state = { late: 0, sounded: 0 };

  state.schedule = (until) => {
    while (!next.done && startAt + next.value[0] * beat < until) {
      const [at, kind, detail] = next.value;
      const when = startAt + at * beat;
      if (kind === "click" || kind === "pluck") sound(kind, detail, when);
      else seen({ at: when, id: detail });
      next = line.next();
    }
  };

  function sound(kind, detail, when) {
    if (when < audio.currentTime) {
      state.late += 1;
      return;
    }
    state.sounded += 1;
    if (kind === "click") {
      click(audio, when, detail, to);
    } else {
      const [, lasts, pitch, step, how] = detail;
      const at = Math.max(audio.currentTime, when + step * STRUM);
      pluck(audio, pitch, at, lasts * beat, { level: LEVELS[how], to });
    }
  }

  return state;
}

// Play a loop on a live audio context; `onCount(id)` is called when a count is heard.
export function play(audio, loop, { tempo, strings, onCount = () => {} }) {
  const master = audio.createGain();
  master.connect(audio.destination);
  if (strings) prepare(audio, loop.plucks.map(([, , pitch]) => pitch));
  const queue = [];
  const state = scheduler(audio, loop, {
    tempo,
    strings,
    to: master,
    startAt: audio.currentTime + BEGIN,
    seen: (one) => queue.push(one),
  });
  const end = lookAhead(audio, state.schedule);
  let frame = requestAnimationFrame(follow);

  function follow() {
    const heard = audio.currentTime - (audio.outputLatency || audio.baseLatency || 0);
    let count = null;
    while (queue.length && queue[0].at <= heard) count = queue.shift().id;
    if (count) onCount(count);
    frame = requestAnimationFrame(follow);
  }

  return {
    state,
    stop() {
      end();
      cancelAnimationFrame(frame);
      master.gain.setTargetAtTime(0, audio.currentTime, 0.015);
      setTimeout(() => master.disconnect(), 200); // takes what was handed over with it
    },
  };
}
