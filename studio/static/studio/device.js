// What this device keeps of its learner: the next seven days, and ticks that are not sent
// yet. Nothing of one learner outlasts a sign-out, a new card, or another learner.
import * as queue from "./queue.js";

const WEEK = "fourbar-week";
const WHO = "fourbar-learner";
const ANSWER_WITHIN = 8000; // ms
const TRY_AGAIN = 30000; // ms

// Whether this browser can keep anything; plain http elsewhere than at home cannot.
export const able =
  isSecureContext && [caches, indexedDB, navigator.serviceWorker, navigator.locks].every(Boolean);

// Called first on every page: a device that changed hands starts empty.
export async function belongTo(learner) {
  if (localStorage.getItem(WHO) === learner) return;
  await forget();
  localStorage.setItem(WHO, learner);
}

export async function forget() {
  await Promise.all([queue.forget(), caches.delete(WEEK)]);
  localStorage.removeItem(WHO);
}

export async function keepWeek({ worker, week }) {
  await navigator.serviceWorker.register(worker);
  const answer = await fetch(week, { redirect: "manual" });
  if (!answer.ok) return;
  const whole = await answer.blob(); // all of it, before the one that is kept gives way
  await (await caches.open(WEEK)).put(week, new Response(whole));
}

// The seven days as they were last kept, or null.
export async function keptWeek() {
  const house = (await caches.has(WEEK)) && (await caches.open(WEEK));
  const [address] = house ? await house.keys() : [];
  return address ? (await house.match(address)).json() : null;
}

// Have the forms of a loop put their tick into the queue; `done` is called when it is safe
// there. Where the queue cannot be written the form goes to the server as it stands.
export function listen(root, { learner }, done) {
  const began = performance.now();
  const once = (form, tick) => async (event) => {
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "1";
    const made = { uuid: newId(), learner, at: new Date().toISOString(), ...tick(event) };
    try {
      await queue.add(made);
    } catch {
      form.submit();
      return;
    }
    await done();
  };
  const form = root.querySelector("#tick");
  form?.addEventListener("submit", once(form, () => {
    const { assignment, key, revision, day } = form.dataset;
    const { tempo, felt } = Object.fromEntries(new FormData(form));
    const minutes = Math.min(60, Math.round((performance.now() - began) / 60000));
    return { assignment: Number(assignment), key, revision: Number(revision), day, tempo: Number(tempo), felt, minutes };
  }));
  const back = root.querySelector("#untick");
  back?.addEventListener("submit", once(back, () => ({ undoes: back.elements.uuid.value })));
}

// Send what waits, and say in words what still does.
export async function send({ learner, ticks }) {
  const outcome = await queue.send(learner, (batch) => post(ticks, batch));
  await say(learner, outcome.refused);
  return outcome;
}

// Go on trying: when the network is back, when the page is looked at, and now and then.
export function keepSending(device, whenSent) {
  const go = async () => {
    if ((await send(device)).sent) whenSent();
  };
  addEventListener("online", go);
  document.addEventListener("visibilitychange", () => document.hidden || go());
  setInterval(async () => (await queue.waiting(device.learner, 1)).length && go(), TRY_AGAIN);
}

// Before a sign-out: send, ask if something would be lost, and leave nothing here.
export function guardSignOut(device) {
  const form = document.getElementById("sign-out");
  form?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { failed } = await send(device);
    if (failed && !confirm(line().dataset.leave)) return;
    await forget();
    form.submit();
  });
}

async function post(address, batch) {
  const answer = await fetch(address, {
    method: "POST",
    redirect: "manual",
    headers: { "Content-Type": "application/json", "X-CSRFToken": cookie("csrftoken") },
    body: JSON.stringify({ ticks: batch }),
    signal: AbortSignal.timeout(ANSWER_WITHIN),
  });
  if (!answer.ok) throw new Error(`${answer.status}`);
  return answer.json();
}

async function say(learner, refused) {
  const { length } = await queue.waiting(learner);
  const { one, many, refused: notKept } = line().dataset;
  const words = length ? [length === 1 ? one : many.replace("{n}", length)] : [];
  for (const why of new Set(refused.map((tick) => tick.why))) {
    const n = refused.filter((tick) => tick.why === why).length;
    words.push(notKept.replace("{n}", n).replace("{why}", why));
  }
  line().textContent = words.join(" ");
  line().hidden = !words.length;
}

const line = () => document.getElementById("unsent");
const cookie = (name) => document.cookie.split("; ").find((one) => one.startsWith(`${name}=`))?.slice(name.length + 1) ?? "";
const newId = () => crypto.randomUUID();
