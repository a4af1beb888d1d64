// Today without a network: the day as this device keeps it, with what was ticked since.
import { bringToLife } from "./loop.js";
import * as device from "./device.js";
import { waiting } from "./queue.js";

const home = document.getElementById("loop");
const week = await device.keptWeek();
const today = week && week.days.find(({ day }) => day === dayIn(week.zone));

if (!today) {
  home.append(fromTemplate("not-kept"));
} else {
  const loops = await withTicks(today, week.device.learner);
  const asked = loops[new URLSearchParams(location.search).get("loop") - 1];
  const now = asked ?? loops.find(({ tick }) => !tick);
  if (loops.length) showDay(today, loops, now);
  if (now) showLoop(now);
  else showEnd(today, loops);
}
if (week) {
  const backOnline = async () => {
    await device.keepWeek(week.device);
    document.getElementById("no-network").hidden = true;
    if (!document.getElementById("tick")) location.assign(week.device.today); // nobody is playing
  };
  if ((await device.send(week.device)).sent) await backOnline();
  device.keepSending(week.device, backOnline);
}

// The studio's day, whatever zone this device is in.
function dayIn(zone) {
  return new Intl.DateTimeFormat("en-CA", { timeZone: zone, dateStyle: "short" }).format(new Date());
}

// The loops of a day with the tick each has: from the server, or waiting here.
async function withTicks({ day, loops }, learner) {
  const numbered = loops.map((loop, at) => ({ ...loop, number: at + 1 }));
  for (const made of await waiting(learner)) {
    for (const loop of numbered) {
      if (made.undoes) {
        if (loop.tick?.uuid === made.undoes) loop.tick = null;
      } else if (made.day === day && made.assignment === loop.assignment && made.key === loop.key) {
        loop.tick = made;
      }
    }
  }
  return numbered;
}

function showDay({ name }, loops, now) {
  const nav = document.getElementById("day");
  const { step, ticked, one, many, none } = nav.dataset;
  nav.querySelector("ol").replaceChildren(...loops.map((loop) => {
    const item = document.createElement("li");
    const link = document.createElement("a");
    item.className = loop.tick ? "done" : "";
    link.href = `?loop=${loop.number}`;
    link.textContent = loop.number;
    const said = step.replace("{number}", loop.number).replace("{all}", loops.length);
    link.setAttribute("aria-label", loop.tick ? `${said}, ${ticked}` : said);
    if (loop === now) link.setAttribute("aria-current", "step");
    item.append(link);
    return item;
  }));
  const left = loops.filter(({ tick }) => !tick).reduce((sum, { minutes }) => sum + minutes, 0);
  nav.querySelector("[data-name]").textContent = name;
  nav.querySelector("[data-left]").textContent = left === 1 ? one : left ? many.replace("{n}", left) : none;
  nav.hidden = false;
}

// The loop's own page, drawn by the server when it was kept.
function showLoop({ html, bars, tick }) {
  home.innerHTML = html;
  home.querySelector("#bars").innerHTML = week.bars[bars];
  if (tick) {
    const ticked = home.querySelector("#ticked");
    ticked.querySelector("[data-tempo]").textContent = tick.tempo;
    ticked.querySelector("[data-felt]").textContent = feltInWords(tick.felt);
    ticked.querySelector("button").value = tick.uuid;
    ticked.hidden = false;
    home.querySelector("#tick").remove();
  } else {
    home.querySelector("#ticked").remove();
  }
  bringToLife(home);
  device.listen(home, week.device, async () => location.assign(week.device.today));
}

function showEnd({ next }, loops) {
  home.append(fromTemplate(loops.length ? "all-done" : "nothing"));
  for (const { number, label, tick, html } of loops) {
    const item = document.createElement("li");
    const link = document.createElement("a");
    const how = document.createElement("span");
    link.href = `?loop=${number}`;
    link.textContent = label;
    how.className = "note";
    how.textContent = `${tick.tempo}, ${feltInWords(tick.felt, html)}`;
    item.append(link, " ", how);
    home.querySelector("ul").append(item);
  }
  const line = home.querySelector("[data-next]");
  line.hidden = !next;
  line.querySelector("span").textContent = next;
}

// The words of the choice itself, as the page was drawn.
function feltInWords(felt, html = home.innerHTML) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const choice = page.querySelector(`[name="felt"][value="${felt}"]`);
  return choice ? choice.closest("label").textContent.trim().toLowerCase() : felt;
}

function fromTemplate(id) {
  return document.getElementById(id).content.cloneNode(true);
}
