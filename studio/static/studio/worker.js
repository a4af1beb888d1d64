// The service worker of Today. The server puts `NAMED` in front of this file: the
// addresses of Today, of the page without a network, and of all files these are made of.
//
// The network comes first, so that the page is never staler than it need be; what the
// device keeps answers where there is no network, or none that answers in time. The
// learner's own week is kept apart by the page (device.js), never in the house.
const HOUSE = `fourbar-house-${NAMED.version}`;
const WEEK = "fourbar-week";
const PATIENCE = 4000; // ms until a slow network counts as none

self.addEventListener("install", (event) => {
  event.waitUntil(furnish().then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(clearOldHouses().then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== location.origin) return;
  if (mode === "navigate" && pathname === NAMED.today) event.respondWith(today(event.request));
  else if (NAMED.files.includes(pathname)) event.respondWith(file(event.request));
});

async function furnish() {
  const house = await caches.open(HOUSE);
  await house.addAll([NAMED.page, ...NAMED.files]);
}

async function clearOldHouses() {
  const old = (await caches.keys()).filter((name) => name.startsWith("fourbar-house-") && name !== HOUSE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function today(request) {
  const asked = fetch(request);
  try {
    const answer = await inTime(asked);
    if (answer.type === "opaqueredirect") await caches.delete(WEEK); // signed out
    if (answer.status >= 500) throw new Error(`${answer.status}`);
    return answer;
  } catch {
    const kept = (await caches.has(WEEK)) && (await caches.match(NAMED.page));
    return kept || asked;
  }
}

function inTime(answer) {
  const late = new Promise((_, reject) => setTimeout(reject, PATIENCE));
  return Promise.race([answer, late]);
}

// Names with a digest never change; without one (a contributor's machine) the network is asked first.
async function file(request) {
  const kept = await caches.match(request, { cacheName: HOUSE });
  if (kept && /\.[0-9a-f]{12}\./.test(request.url)) return kept;
  return fetch(request).catch((gone) => kept ?? Promise.reject(gone));
}
