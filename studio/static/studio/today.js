// Today, as the server sends it. The page works without this, except sound and offline.
import { bringToLife } from "./loop.js";
import * as device from "./device.js";

const WAIT = 2500; // ms a tick may take to be sent before the page goes on without

bringToLife(document);
const given = JSON.parse(document.getElementById("device").textContent);
const next = () => location.assign(given.today);

if (device.able) {
  await device.belongTo(given.learner);
  device.listen(document, given, async () => {
    const wait = new Promise((go) => setTimeout(go, WAIT));
    await Promise.race([device.send(given), wait]);
    next();
  });
  device.guardSignOut(given);
  device.keepSending(given, next);
  if ((await device.send(given)).sent) next();
  else await device.keepWeek(given);
} else {
  const form = document.getElementById("tick");
  const began = performance.now();
  form?.addEventListener("submit", () => {
    form.minutes.value = Math.min(60, Math.round((performance.now() - began) / 60000));
  });
}
