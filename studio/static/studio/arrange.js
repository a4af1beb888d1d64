// Hear a level, or one bar of it, once through. Where sound cannot work no button shows.
import { highlight } from "./highlight.js";
import { play } from "./player.js";

const RINGS_ON = 1; // s after the last beat until the strings are let go

const form = document.querySelector("form.arrange");
const data = document.querySelector("#sounds");
if (data && window.AudioContext) bringToLife(JSON.parse(data.textContent));

function bringToLife(sounds) {
  const tempo = Number(form.dataset.tempo);
  const edge = highlight(form);
  let audio;
  let now = null;

  for (const button of form.querySelectorAll("[data-hear]")) {
    button.hidden = false;
    button.addEventListener("click", () => (now?.button === button ? stop() : start(button)));
  }
  addEventListener("pagehide", stop);

  function start(button) {
    stop();
    audio ??= new AudioContext({ latencyHint: "interactive" });
    audio.resume();
    const { hear, bar } = button.dataset;
    const loop = bar === undefined ? sounds[hear].whole : sounds[hear].bars[bar];
    const run = play(audio, once(loop), { tempo, strings: true, onCount: (id) => edge.step(hear + id) });
    const end = setTimeout(stop, ((loop.beats * 60) / tempo + RINGS_ON) * 1000);
    now = { button, run, end };
    button.textContent = "Stop";
  }

  function stop() {
    if (!now) return;
    clearTimeout(now.end);
    now.run.stop();
    now.button.textContent = "Hear";
    edge.clear();
    now = null;
  }
}

// Strings alone, without count-in or click, and silence where the second pass would begin.
function once(loop) {
  return { ...loop, countIn: [], clicks: [], lead: 0, beats: loop.beats * 1000 };
}
