// The desk: which screen is shown, the way through a week, language and end.

import { get, post, setAddress } from "./api.js";
import { button, choice, el, fill, note, say } from "./dom.js";
import { languages } from "./languages.js";
import { _, language, speak } from "./texts.js";
import { faultsOf } from "./work.js";

const ALIVE_MS = 60_000;
const screen = document.getElementById("screen");
const top = document.getElementById("top");
const steps = document.getElementById("steps");

// The screens without a set, and the steps of a week with one, in their order.
const ROOMS = {
  sets: { text: () => _("Classes and sets"), script: "sets" },
  new: { text: () => _("New set"), script: "new_set" },
  lessons: { text: () => _("Own lessons"), script: "lessons" },
};
export const STEPS = {
  check: { text: () => _("Check"), script: "check" },
  give: { text: () => _("Give out"), script: "give_out" },
  collect: { text: () => _("Collect"), script: "collect" },
  mark: { text: () => _("Mark"), script: "mark" },
  see: { text: () => _("See"), script: "see" },
  hand: { text: () => _("Hand on"), script: "hand_on" },
  after: { text: () => _("Look after"), script: "look_after" },
};

function way() {
  const [first = "", ...rest] = location.hash.replace(/^#\/?/, "").split("/");
  if (first === "set" && rest.length) {
    const [name, step = "check", ...more] = rest.map(decodeURIComponent);
    return { room: "set", name, step: step in STEPS ? step : "check", more };
  }
  return { room: first in ROOMS ? first : "sets", more: rest.map(decodeURIComponent) };
}

const brand = () => el("span.brand", {}, _("Clampbook"));
const link = (href, text, isHere) =>
  el("a", { href, "aria-current": isHere ? "page" : null }, text);

function drawTop(here) {
  const spoken = choice(languages(), language(), {
    "aria-label": _("Language"),
    onchange: async ({ target }) => {
      await speakTo(target.value);
      await show();
    },
  });
  fill(
    top,
    brand(),
    el(
      "nav",
      { "aria-label": _("Desk") },
      Object.entries(ROOMS).map(([room, { text }]) =>
        link(`#/${room}`, text(), here.room === room),
      ),
    ),
    el("div.tools", {}, spoken, button(_("Quit"), quit)),
  );
  fill(document.getElementById("skip"), _("To the content"));
}

function drawSteps(here) {
  steps.hidden = here.room !== "set";
  steps.setAttribute("aria-label", _("Steps of the week"));
  if (steps.hidden) return fill(steps);
  return fill(
    steps,
    el("strong", {}, here.name),
    el(
      "ol",
      {},
      Object.entries(STEPS).map(([step, { text }]) =>
        el(
          "li",
          {},
          link(`#/set/${encodeURIComponent(here.name)}/${step}`, text(), here.step === step),
        ),
      ),
    ),
  );
}

let shown = 0;
async function show() {
  const here = way();
  const turn = (shown += 1);
  drawTop(here);
  drawSteps(here);
  const { text, script } = here.room === "set" ? STEPS[here.step] : ROOMS[here.room];
  document.title = `${text()} – Clampbook`;
  const body = el("div", { "aria-busy": "true" });
  fill(screen, el("h1", { tabindex: "-1" }, text()), body);
  window.scrollTo(0, 0);
  try {
    const set = here.room === "set" ? await get(setAddress(here.name)) : null;
    const { draw } = await import(`./screens/${script}.js`);
    // Another screen was asked for in the meantime.
    if (turn !== shown) return;
    if (set?.error) fill(body, faultsOf(set.error));
    else await draw(body, { set, more: here.more });
  } catch (error) {
    if (turn !== shown) return;
    fill(body, error.problems ? faultsOf(error) : note("wrong", String(error)));
  } finally {
    body.removeAttribute("aria-busy");
  }
}

async function speakTo(spoken) {
  await speak(spoken);
  document.documentElement.lang = language();
  // A folder that cannot be written keeps no language, and hides no page.
  await post("settings", { language: language() }).catch(() => null);
}

async function quit() {
  const jobs = await get("work").catch(() => []);
  const busy = jobs.some(({ state }) => state === "working" || state === "waiting");
  const question = _("Work is under way, or students are being served. End the desk and stop it?");
  if (busy && !window.confirm(question)) return;
  clearInterval(alive);
  await post("end").catch(() => null);
  window.removeEventListener("hashchange", onWay);
  fill(top, brand());
  steps.hidden = true;
  const text = _("The desk has ended. You can close this page.");
  fill(screen, el("h1", { tabindex: "-1" }, _("Ended")), note("news", text));
  say(text);
}

async function onWay() {
  await show();
  screen.querySelector("h1")?.focus();
}

// The token has done its work: it is not left in the address and the history.
if (location.search) history.replaceState(null, "", `${location.pathname}${location.hash}`);
const alive = setInterval(() => get("alive").catch(() => null), ALIVE_MS);
document.getElementById("skip").addEventListener("click", (event) => {
  event.preventDefault();
  screen.focus();
});
window.addEventListener("hashchange", onWay);
const kept = await get("settings").catch(() => ({}));
await speakTo(kept.language ?? navigator.language.slice(0, 2));
await show();
await get("alive");
