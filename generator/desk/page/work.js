// Work that takes its time: begun, shown, stopped, and found again after a reload.

import { drop, get, post } from "./api.js";
import { button, el, field, fill, lines, note, say } from "./dom.js";
import { _, language } from "./texts.js";

const EVERY_MS = 250;
const STEPS = {
  drawing: () => _("Drawing workbooks"),
  validating: () => _("Checking"),
  working: () => _("Working"),
  grading: () => _("Marking"),
  writing: () => _("Writing pages"),
  handouts: () => _("Writing handouts"),
  printing: () => _("Printing to PDF"),
  building: () => _("Building the students’ page"),
  students: () => _("Adding students"),
};
// By set; gone when the page is loaded again, and kept nowhere else.
const passphrases = new Map();

// Until this page is loaded again; a new set takes no passphrase of an older one.
export function remember(set, passphrase) {
  if (set && passphrase) passphrases.set(set, passphrase);
}

export const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

function bars(job) {
  return job.steps.map(({ id, done, total }) => {
    const text = STEPS[id]?.() ?? id;
    const label = total ? `${text}: ${done} / ${total}` : `${text}: ${done}`;
    // Without a value it only shows that something goes on: nobody knows how much there
    // is.
    const given = total ? { max: total, value: done } : {};
    return el("div.bar", {}, el("span", {}, label), el("progress", { ...given, "aria-label": text }));
  });
}

export function faultsOf(error) {
  const rows = error.problems.map(({ file, line, message }) =>
    el("li", {}, line ? `${file}, ${_("line {n}").replace("{n}", line)}: ` : `${file}: `, message),
  );
  const text = error.kind === "lost"
    ? _("The work was ended from outside, perhaps because memory ran out. Close other programs and try again.")
    : error.kind === "fault"
      ? `${_("Something went wrong that should not. Try again; if it comes back, report it:")} ${error.message}`
      : error.message;
  return note("wrong", rows.length ? el("ul", {}, rows) : lines(text));
}

// Asks for a passphrase; gives null where none is told.
function askPassphrase(isWrong) {
  const dialog = document.getElementById("asked");
  const given = el("input", { type: "password", autocomplete: "off", required: true });
  return new Promise((resolve) => {
    const form = el(
      "form",
      {
        method: "dialog",
        onsubmit: () => resolve(given.value),
      },
      el("h2", {}, _("Passphrase of this set")),
      isWrong && note("wrong", _("That is not the passphrase of this set.")),
      field(_("Passphrase"), given, _("It is used for this page only, and kept nowhere.")),
      el(
        "div.buttons",
        {},
        el("button.main", {}, _("Open")),
        button(_("Cancel"), () => {
          resolve(null);
          dialog.close();
        }),
      ),
    );
    fill(dialog, form);
    dialog.addEventListener("cancel", () => resolve(null), { once: true });
    dialog.showModal();
    given.focus();
  });
}

async function follow(job, place, { watch, going, stopText }) {
  const stop = button(stopText ?? _("Stop"), async () => {
    stop.disabled = true;
    await drop(`work/${job.id}`);
  });
  const shown = el("div", {});
  const soFar = () => {
    const text = going?.(job) ?? (job.steps.length ? null : _("Working …"));
    fill(shown, text ? el("p", {}, text) : bars(job));
  };
  if (place) {
    soFar();
    fill(place, el("div.working", { "aria-busy": "true" }, shown, stop));
    place.scrollIntoView({ block: "nearest" });
  }
  while (job.state === "waiting" || job.state === "working") {
    if (place) soFar();
    watch?.(job);
    await pause(EVERY_MS);
    // The screen was left: the work goes on, and nobody waits for it here.
    if (place && !place.isConnected) return null;
    job = await get(`work/${job.id}`);
  }
  return job;
}

// Does a piece of work and gives its result; undefined where it was stopped or failed,
// which then stands in `place`. With `begun` it is one that is under way; `going` says in
// words what goes on, where a bar would not, and `stopped` what it means to end that.
export async function run(work, { set = "", asked = {}, place = null, whole = false, begun = null, stopped = null, ...shown } = {}) {
  let passphrase = passphrases.get(set) ?? asked.passphrase ?? null;
  try {
    for (;;) {
      const told = { language: language(), ...asked, passphrase };
      const first = begun ? await get(`work/${begun.id}`) : await post("work", { work, set, asked: told });
      const job = await follow(first, place, shown);
      if (!job) return undefined;
      if (job.state === "done") {
        if (place) fill(place);
        return whole ? job : job.result;
      }
      if (job.state === "stopped") {
        const text = stopped ?? _("Stopped. Nothing of it was kept.");
        if (place) fill(place, note("news", text));
        say(text);
        return undefined;
      }
      // It may be the passphrase that failed: kept, it would fail each time.
      passphrases.delete(set);
      const locked = job.error.kind.startsWith("passphrase");
      passphrase = locked ? await askPassphrase(job.error.kind.endsWith("wrong")) : null;
      if (passphrase === null) throw Object.assign(new Error(job.error.message), job.error);
      remember(set, passphrase);
    }
  } catch (error) {
    if (!error.problems || !place) throw error;
    fill(place, faultsOf(error));
    say(error.message);
    return undefined;
  }
}

// The work of this name on a set that is under way, as after a reload; or nothing.
export async function underWay(work, set) {
  const jobs = await get("work");
  const living = ["waiting", "working"];
  return jobs.find((job) => job.work === work && job.set === set && living.includes(job.state));
}
