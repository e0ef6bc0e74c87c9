// See: the class report and the sheets in place, every answer, and what to teach again.

import { shown } from "../api.js";
import { button, choice, el, field, fill, note, table } from "../dom.js";
import { _ } from "../texts.js";
import { run } from "../work.js";

const frame = (set, place, title) => el("iframe", { src: shown(set.name, place), title });

function teach(set, found) {
  return el(
    "section",
    {},
    el("h2", {}, _("What to teach again")),
    found.length
      ? el("ol.apart", {}, found.map((one) => el("li", {}, el("strong", {}, one.what), ` (${one.concerned} / ${one.of})`, el("div", {}, one.why), el("div", {}, one.do))))
      : note("right", _("Nothing stands out.")),
    el(
      "p",
      {},
      el("a.main", { href: `#/new/after/${encodeURIComponent(set.name)}` }, _("Make the set that practises it")),
    ),
  );
}

function answers(set) {
  const names = Object.fromEntries([["", _("all students")], ...set.students.map((one) => [one.id, one.name])]);
  const student = choice(names, "");
  const words = el("input", { type: "search" });
  const list = el("div", { "aria-live": "polite" });
  let all = null;
  function filter() {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    const found = all.filter(
      (one) =>
        (!student.value || one.student === student.value) &&
        wanted.every((word) => one.searched.includes(word)),
    );
    fill(
      list,
      el("p.quiet", {}, _("{n} exercises").replace("{n}", found.length)),
      found.slice(0, 60).map(answer),
      found.length > 60 ? note("news", _("Only the first 60 are shown. Search for more.")) : null,
    );
  }
  const answer = (one) =>
    el(
      "article.card",
      {},
      el("h3", {}, `${one.name}, ${_("Exercise {n}").replace("{n}", one.exercise)}: ${one.title}`),
      el("dl", {}, el("dt", {}, _("Cause")), el("dd", {}, one.cause), el("dt", {}, _("Correction")), el("dd", {}, one.correction)),
      one.planned.length ? [el("p", {}, _("Planned tests:")), el("ol", {}, one.planned.map((test) => el("li", {}, test)))] : null,
      one.questions.length ? table(_("Questions"), [_("Question"), _("Answer")], one.questions) : null,
    );
  async function load() {
    const found = await run("answers", { set: set.name, place: list });
    if (!found) return;
    all = found.map((one) => ({ ...one, searched: JSON.stringify(one).toLowerCase() }));
    filter();
  }
  const use = () => all && filter();
  student.addEventListener("change", use);
  words.addEventListener("input", use);
  return el(
    "details",
    { ontoggle: ({ target }) => target.open && !all && load() },
    el("summary", {}, _("All answers, for you alone")),
    el("div.row", {}, field(_("Student"), student), field(_("Search"), words, _("Words of the vehicle, the cause, a test."))),
    list,
  );
}

export async function draw(body, { set }) {
  if (!set.graded) {
    fill(
      body,
      note("news", _("There is no report yet: it is written when hand-ins are marked.")),
      el("p", {}, el("a.main", { href: `#/set/${encodeURIComponent(set.name)}/mark` }, _("Mark what came back"))),
      answers(set),
    );
    return;
  }
  const place = el("div", {});
  fill(body, place);
  const found = await run("report", { set: set.name, place });
  if (!found) return;
  const sheets = Object.fromEntries(found.sheets.map((one) => [one.place, one.name]));
  const sheet = el("div", {});
  const picked = choice(sheets, found.sheets[0]?.place, { onchange: () => show() });
  const show = () => fill(sheet, frame(set, picked.value, _("Sheet of {name}").replace("{name}", sheets[picked.value])));
  fill(
    body,
    teach(set, found.teach),
    el("h2", {}, _("Class report")),
    el("p", {}, el("a", { href: shown(set.name, "results/class-report.html"), target: "_blank", rel: "noopener" }, _("Open it in a tab of its own"))),
    frame(set, "results/class-report.html", _("Class report")),
    el("h2", {}, _("Sheets")),
    found.sheets.length
      ? [field(_("Student"), picked), el("div.buttons", {}, button(_("Show the sheet"), show)), sheet]
      : note("news", _("Nobody was marked yet.")),
    answers(set),
  );
}
