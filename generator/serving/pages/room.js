// The supervisor's page: shows the state of a room (generator/examining/supervision.py),
// and sends what the supervisor does. The token stands behind the # of its link, which
// no server is told, and goes along with each request.

const token = location.hash.slice(1);
const EVERY_MS = 3000;
let texts = {};
const DEEDS = {
  waiting: ["start"],
  running: ["pause", "stop"],
  paused: ["resume", "stop"],
  over: ["seal"],
  sealed: [],
};
let phaseShown = "";

// Texts are those of generator/serving/room_texts.py.
function say(name, values = {}) {
  return texts[name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

const at = (id) => document.getElementById(id);

function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

async function asked(path, body) {
  const reply = await fetch(path, {
    method: body ? "POST" : "GET",
    headers: { Authorization: `Bearer ${token}` },
    body: body && JSON.stringify(body),
  });
  if (!reply.ok) throw new Error((await reply.json()).refused);
  return reply;
}

async function act(deed) {
  const sure = `sure_${deed.do}`;
  if (texts[sure] && !confirm(say(sure))) return;
  try {
    show(await (await asked("do", deed)).json());
    at("said").textContent = "";
  } catch (error) {
    at("said").textContent = say("not_done", { reason: error.message });
  }
}

function time(text) {
  return text ? new Date(text).toLocaleTimeString(document.documentElement.lang) : "";
}

function drawDeeds({ phase }) {
  // Drawn anew at each look, the field for minutes would lose what is being typed.
  if (phase === phaseShown) return;
  phaseShown = phase;
  const buttons = DEEDS[phase].map((name) => {
    const send = () => {
      const minutes = Number(at("minutes")?.value || 0);
      act(name === "start" ? { do: name, minutes } : { do: name });
    };
    return element("button", { type: "button", onclick: send }, say(name));
  });
  if (phase === "waiting") {
    const input = element("input", { id: "minutes", type: "number", min: 0, max: 1440 });
    buttons.unshift(element("label", {}, say("minutes"), input));
  }
  at("deeds").replaceChildren(...buttons);
}

function looks(seat) {
  const found = [];
  if (seat.windows > 1) found.push(say("windows", { count: seat.windows }));
  if (seat.refused) found.push(say("refused", { count: seat.refused }));
  if (!seat.is_here && seat.seen_at) found.push(say("silent", { time: time(seat.seen_at) }));
  return found;
}

function row(seat) {
  const look = looks(seat);
  const more = () => {
    const minutes = Number(prompt(say("how_many", { name: seat.name })));
    if (minutes > 0) act({ do: "more", student: seat.student, minutes });
  };
  const open = seat.steps.map((step, n) => `${n + 1}: ${step}`).join("; ");
  const extra = seat.more_minutes
    ? `${say("extra", { minutes: Math.round(seat.more_minutes) })} `
    : "";
  return element(
    "tr",
    { class: look.length ? "look" : "" },
    element("th", { scope: "row" }, seat.name, " ", element("span", { class: "quiet" }, seat.student)),
    element("td", {}, say(seat.is_here ? "yes" : seat.seen_at ? "no" : "not_yet")),
    element("td", {}, seat.exercise ? say("since", { exercise: seat.exercise, time: time(seat.since) }) : ""),
    element("td", {}, open),
    element("td", {}, say("of", { done: seat.done, all: seat.steps.length })),
    element("td", {}, look.join("; ")),
    element(
      "td",
      {},
      extra,
      element("button", { type: "button", onclick: more, "aria-label": say("more_for", { name: seat.name }) }, say("more")),
    ),
  );
}

function show(state) {
  at("title").textContent = say("title", { set_id: state.set_id });
  at("phase").textContent = say(state.phase);
  const ends = state.ends_at ? say("ends", { time: time(state.ends_at) }) : "";
  at("clock").textContent = `${time(state.now)} ${ends}`;
  drawDeeds(state);
  const focused = document.activeElement?.getAttribute("aria-label");
  at("seats").replaceChildren(...state.seats.map(row));
  if (focused) document.querySelector(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
}

async function look() {
  try {
    show(await (await asked("state")).json());
  } catch (error) {
    at("phase").textContent = say("no_answer", { reason: error.message });
  }
  setTimeout(look, EVERY_MS);
}

at("protocol").addEventListener("click", async () => {
  // Fetched and not linked to, since a link cannot carry the token.
  const page = await (await asked("protocol")).blob();
  open(URL.createObjectURL(page), "_blank");
});

async function begin() {
  const known = await (await fetch("texts")).json();
  texts = known.texts;
  document.documentElement.lang = known.language;
  at("deeds").setAttribute("aria-label", say("deeds"));
  for (const each of document.querySelectorAll("[data-text]")) {
    each.textContent = say(each.dataset.text);
  }
  look();
}

begin();
