// The learner's page: a click that can be played to. The page works without it.
import { Metronome } from "./metronome.js";

const sound = document.querySelector(".sound");
if (sound && window.AudioContext) {
  const { from, beats } = sound.dataset;
  const click = sound.querySelector('[data-do="click"]');
  const metronome = new Metronome({ beats: Number(beats) });
  const chosen = () => Number(document.querySelector('[name="tempo"]:checked')?.value || from);
  click.addEventListener("click", () => {
    if (metronome.running) metronome.stop();
    else metronome.start(chosen());
    click.setAttribute("aria-pressed", String(metronome.running));
  });
  for (const tempo of document.querySelectorAll('[name="tempo"]')) {
    tempo.addEventListener("change", () => metronome.running && metronome.start(chosen()));
  }
  sound.hidden = false;
}

const form = document.getElementById("tick");
if (form) {
  const began = performance.now();
  form.addEventListener("submit", () => {
    form.minutes.value = Math.min(60, Math.round((performance.now() - began) / 60000));
  });
}
