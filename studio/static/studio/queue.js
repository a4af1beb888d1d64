// Ticks that wait on this device until the server has them: kept in order, sent in order,
// each once. A tick leaves the queue only when the server has said that it keeps it, or
// never will; the server knows each by its uuid, so that sending again does no harm.

const NAME = "fourbar";
const STORE = "ticks";
const AT_ONCE = 25;

let opened;

// Put a tick { uuid, learner, ... } at the end; it is safe once this is done.
export async function add(tick) {
  const store = await begin("readwrite");
  store.add(tick);
  await done(store.transaction);
}

// The ticks of one learner that wait, oldest first, at most `most` of them.
export async function waiting(learner, most = Infinity) {
  const found = [];
  const store = await begin("readonly");
  await each(store, (cursor) => {
    if (cursor.value.learner === learner) found.push(cursor.value);
    return found.length < most;
  });
  return found;
}

// Send what waits for `learner` by `post(ticks) -> { kept: [uuid], refused: [{ uuid, why }] }`,
// until nothing is left or `post` fails. Only one tab sends at a time. What another learner
// left on this device is never sent: it is removed.
export function send(learner, post) {
  return navigator.locks.request("fourbar-send", async () => {
    await removeWhere((tick) => tick.learner !== learner);
    const outcome = { sent: 0, refused: [], failed: null };
    for (;;) {
      const batch = await waiting(learner, AT_ONCE);
      if (!batch.length) return outcome;
      let answer;
      try {
        answer = await post(batch.map(({ order: _order, ...tick }) => tick));
      } catch (failed) {
        return { ...outcome, failed };
      }
      const settled = new Set([...answer.kept, ...answer.refused.map(({ uuid }) => uuid)]);
      if (!batch.some(({ uuid }) => settled.has(uuid))) return { ...outcome, failed: new Error("nothing was settled") };
      await remove(batch.filter(({ uuid }) => settled.has(uuid)));
      outcome.sent += answer.kept.length;
      outcome.refused.push(...answer.refused);
    }
  });
}

// Forget every tick of everybody.
export async function forget() {
  const store = await begin("readwrite");
  store.clear();
  await done(store.transaction);
}

async function remove(ticks) {
  const store = await begin("readwrite");
  for (const { order } of ticks) store.delete(order);
  await done(store.transaction);
}

async function removeWhere(test) {
  const store = await begin("readwrite");
  const finished = done(store.transaction);
  await each(store, (cursor) => {
    if (test(cursor.value)) cursor.delete();
    return true;
  });
  await finished;
}

async function begin(mode) {
  opened ??= open();
  const database = await opened;
  return database.transaction(STORE, mode, { durability: "strict" }).objectStore(STORE);
}

function open() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      const store = asked.result.createObjectStore(STORE, { keyPath: "order", autoIncrement: true });
      store.createIndex("uuid", "uuid", { unique: true });
    };
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const again = () => (opened = undefined);
      asked.result.onclose = again;
      asked.result.onversionchange = () => {
        asked.result.close();
        again();
      };
      resolve(asked.result);
    };
  });
}

function done(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

function each(store, visit) {
  return new Promise((resolve, reject) => {
    const asked = store.openCursor();
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const cursor = asked.result;
      if (!cursor || !visit(cursor)) resolve();
      else cursor.continue();
    };
  });
}
