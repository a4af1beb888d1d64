// One loop on the page: heard and clicked at any tempo of its ladder, clean passes counted.
import { highlight } from "./highlight.js";
import { play } from "./player.js";

let audio;

// Give life to the loop in `root`. The page works without it.
export function bringToLife(root) {
  const climb = root.querySelector("#climb");
  if (!climb) return;
  const ladder = climbing(climb);
  countClean(root, climb, ladder);
  const data = root.querySelector("#playing");
  if (data && window.AudioContext) sound(root, JSON.parse(data.textContent), ladder);
  climb.hidden = false;
}

// The tempo now, and the steps up and down from it.
function climbing(climb) {
  const tempos = climb.dataset.tempos.split(" ").map(Number);
  const now = climb.querySelector("output");
  const steps = { slower: -1, faster: 1 };
  const listeners = [];
  let at = Math.max(0, tempos.indexOf(Number(climb.dataset.from)));

  const ladder = {
    get tempo() {
      return tempos[at];
    },
    get above() {
      return tempos[at + 1];
    },
    onChange: (listener) => listeners.push(listener),
    step(by) {
      if (tempos[at + by] === undefined) return;
      at += by;
      show();
      for (const listener of listeners) listener();
    },
  };
  for (const [name, by] of Object.entries(steps)) {
    button(climb, name).addEventListener("click", () => ladder.step(by));
  }
  show();
  return ladder;

  function show() {
    now.textContent = tempos[at];
    for (const [name, by] of Object.entries(steps)) {
      const step = button(climb, name);
      const mark = tempos[at + by];
      step.querySelector("[data-mark]").textContent = mark ?? "";
      // Not `disabled`, which would throw the focus of whoever just reached the end.
      step.setAttribute("aria-disabled", String(mark === undefined));
    }
  }
}

// Clean passes counted by tapping; a slip begins again. Enough of them choose this tempo
// below and go on to the next mark.
function countClean(root, climb, ladder) {
  const clean = button(climb, "clean");
  if (!clean) return;
  const needed = Number(climb.dataset.row);
  const said = climb.querySelector("[data-said]");
  const boxes = Array.from({ length: needed }, (_, n) => {
    const box = document.createElement("span");
    box.textContent = n + 1;
    return box;
  });
  clean.querySelector(".row").replaceChildren(...boxes);
  let count = 0;

  clean.addEventListener("click", () => {
    if (count === needed) count = 0;
    count += 1;
    said.textContent = "";
    if (count === needed) reached();
    show();
  });
  button(climb, "slip").addEventListener("click", begin);
  ladder.onChange(begin);

  function reached() {
    const { tempo, above } = ladder;
    const choice = root.querySelector(`#tick [name="tempo"][value="${tempo}"]`);
    if (choice) choice.checked = true;
    if (above !== undefined) ladder.step(1);
    const words = above === undefined ? climb.dataset.top : climb.dataset.up;
    said.textContent = words.replace("{tempo}", tempo).replace("{next}", above);
  }

  function begin() {
    count = 0;
    said.textContent = "";
    show();
  }

  function show() {
    boxes.forEach((box, n) => box.classList.toggle("on", n < count));
    clean.setAttribute("aria-description", `${count} / ${needed}`);
  }
}

// Hear plays strings and click, Click leaves the strings to the learner.
function sound(root, loop, ladder) {
  const panel = root.querySelector("#sound");
  const buttons = { hear: button(panel, "hear"), click: button(panel, "click") };
  const edge = highlight(root);
  let playing = null;
  let awake = null;

  for (const [name, pressed] of Object.entries(buttons)) {
    pressed.addEventListener("click", () => (playing?.name === name ? stop() : start(name)));
  }
  ladder.onChange(() => playing && start(playing.name));
  addEventListener("pagehide", stop);
  panel.hidden = false;

  function start(name) {
    stop();
    audio ??= new AudioContext({ latencyHint: "interactive" });
    audio.resume();
    const run = play(audio, loop, { tempo: ladder.tempo, strings: name === "hear", onCount: edge.step });
    playing = { name, run };
    stayAwake();
    show();
  }

  function stop() {
    playing?.run.stop();
    playing = null;
    awake?.release();
    awake = null;
    edge.clear();
    show();
  }

  // A phone on a music stand is not touched for minutes; its screen stays on while it plays.
  async function stayAwake() {
    const lock = await navigator.wakeLock?.request("screen").catch(() => null);
    if (playing) awake = lock;
    else lock?.release();
  }

  function show() {
    for (const [name, pressed] of Object.entries(buttons)) {
      pressed.setAttribute("aria-pressed", String(playing?.name === name));
    }
  }
}

const button = (root, name) => root.querySelector(`[data-do="${name}"]`);
