// Classes and sets: what there is, at which step each stands, and what to do next.

import { get } from "../api.js";
import { el, fill, note } from "../dom.js";
import { _, language } from "../texts.js";
import { faultsOf } from "../work.js";

const STEPS = {
  check: () => _("made"),
  give: () => _("checked"),
  collect: () => _("given out"),
  mark: () => _("handed in"),
  see: () => _("marked"),
};
const NEXT = {
  check: ["check", () => _("Check it")],
  give: ["give", () => _("Give it out")],
  collect: ["collect", () => _("Collect what comes back")],
  mark: ["mark", () => _("Mark what came back")],
  see: ["see", () => _("See what to teach again")],
};

export const dayOf = (time) =>
  new Date(time).toLocaleDateString(language(), { day: "numeric", month: "short", year: "numeric" });

export const kindOf = (mode) =>
  ({ practice: _("Practice"), graded: _("Graded"), examination: _("Examination") })[mode] ?? mode;

export const studentsOf = (n) =>
  n === 1 ? _("1 student") : _("{n} students").replace("{n}", n);

export const exercisesOf = ({ exercises: n }) =>
  n === 1 ? _("1 exercise each") : _("{n} exercises each").replace("{n}", n);

// As many as fit a card; a set may hold all of the course.
const TITLES = 3;

function lessonsOf({ lessons }) {
  if (lessons.length <= TITLES) return lessons.join("; ");
  const more = _("and {n} more lessons").replace("{n}", lessons.length - TITLES + 1);
  return `${lessons.slice(0, TITLES - 1).join("; ")}; ${more}`;
}

function card(set) {
  const place = `#/set/${encodeURIComponent(set.name)}`;
  if (set.error) return el("li.card", {}, el("h2", {}, set.name), faultsOf(set.error));
  const [step, text] = NEXT[set.step] ?? NEXT.check;
  const facts = [
    kindOf(set.mode),
    studentsOf(set.students.length),
    exercisesOf(set),
    _("made on {day}").replace("{day}", dayOf(set.made)),
  ];
  return el(
    "li.card",
    {},
    el("h2", {}, el("a", { href: place }, set.name)),
    el("p.quiet", {}, facts.join(" · ")),
    el("p", {}, lessonsOf(set)),
    el(
      "ol.week",
      { "aria-label": _("How far the week has come") },
      Object.entries(STEPS).map(([name, said]) => {
        const order = Object.keys(STEPS);
        const isDone = order.indexOf(name) <= order.indexOf(set.step);
        return el(isDone ? "li.done" : "li", {}, said(), isDone && el("span.unseen", {}, ` (${_("done")})`));
      }),
    ),
    el("p", {}, el("a.main", { href: `${place}/${step}` }, text())),
  );
}

export async function draw(body) {
  const { folder, sets } = await get("sets");
  fill(
    body,
    sets.length
      ? el("ul.cards", {}, sets.map(card))
      : [
          note("news", _("There is no set here yet.")),
          el("p", {}, _("A set holds a workbook for each student of a class. To make the first, have a class list ready, or let names be invented to try it.")),
        ],
    el("p", {}, el("a.main", { href: "#/new" }, _("New set"))),
    el("p.quiet", {}, _("The sets lie in {folder}.").replace("{folder}", folder)),
  );
}
