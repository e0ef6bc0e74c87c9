// Mark: marks as they come, a mark changed where it stands, and what the marks go by.

import { button, choice, el, field, fill, form, note, table } from "../dom.js";
import { _, language } from "../texts.js";
import { run } from "../work.js";

export const STEPS = {
  predictions: () => _("Predictions"),
  choices: () => _("Choice of tests"),
  findings: () => _("Findings"),
  cause: () => _("Cause"),
  correction: () => _("Correction"),
  verification: () => _("After the repair"),
  questions: () => _("Questions"),
};
// Not parted into thousands: what stands in a field is read as it is shown.
const PLAIN = { maximumFractionDigits: 1, useGrouping: false };
const number = (mark) => mark.toLocaleString(language(), PLAIN);
// Whole: a field that is sent as it stands changes nothing.
const typed = (mark) => mark.toLocaleString(language(), { ...PLAIN, maximumFractionDigits: 9 });
const shownMark = (mark) => (mark === null ? "–" : number(mark));
const of = (mark, outOf) => `${number(mark)} / ${number(outOf)}`;

// ---- one student -----------------------------------------------------------

function byStep(steps) {
  const groups = new Map();
  for (const one of steps) groups.set(one.step, [...(groups.get(one.step) ?? []), one]);
  return [...groups];
}

function changer(set, student, exercise, step, have, again) {
  const place = el("div", {});
  const said = el("div", { "aria-live": "polite" });
  const mark = el("input", { value: typed(have), inputmode: "decimal", autocomplete: "off" });
  const reason = el("input", { maxlength: "300", required: true });
  async function change(given) {
    const asked = { student, exercise, step, mark: given, reason: reason.value };
    if (await run("change-mark", { set: set.name, asked, place: said })) await again();
  }
  const changing = form(
    // Shown with the decimal mark of the language, and sent with a point.
    () => change(mark.value.replace(",", ".")),
    el("div.row", {}, field(_("New mark"), mark), field(_("Reason"), reason, _("It stands on the student’s sheet."))),
    el(
      "div.buttons",
      {},
      el("button.main", { type: "submit" }, _("Change")),
      button(_("Take the change back"), () => change("")),
      button(_("Cancel"), () => fill(place)),
    ),
    said,
  );
  const open = button(
    _("Change"),
    () => {
      fill(place, changing);
      mark.focus();
      mark.select();
    },
    "button.plain",
  );
  open.setAttribute("aria-label", `${_("Change")}: ${_("Exercise {n}").replace("{n}", exercise)}, ${STEPS[step]?.() ?? step}`);
  return [open, place];
}

function exercise(set, student, one, again) {
  const rows = byStep(one.steps).map(([step, marks]) => {
    const have = marks.reduce((sum, each) => sum + each.mark, 0);
    const most = marks.reduce((sum, each) => sum + each.out_of, 0);
    const said = marks.map((each) =>
      el(
        "li",
        {},
        el("strong", {}, each.title),
        each.answer ? `: ${each.answer}` : "",
        each.reason ? el("div.quiet", {}, each.reason) : null,
      ),
    );
    return [STEPS[step]?.() ?? step, el("ul", {}, said), of(have, most), changer(set, student, one.exercise, step, have, again)];
  });
  const lines = one.lines.map((line) => [line.label, line.text || "–", line.model]);
  return [
    el("h3", {}, `${_("Exercise {n}").replace("{n}", one.exercise)}: ${one.title} (${of(one.mark, one.out_of)})`),
    table(_("Marks of exercise {n}").replace("{n}", one.exercise), [_("Step"), _("What was done"), { text: _("Marks"), number: true }, _("Change")], rows),
    lines.length
      ? [
          table(_("Written by the student, beside the model answer"), [_("Line"), _("Student"), _("Model")], lines),
          el("p", {}, _("You mark these lines yourself: change the mark of the questions, with a reason.")),
        ]
      : null,
  ];
}

// ---- what the marks go by --------------------------------------------------

function rules(set, place, shown, again) {
  const out = el("div", { "aria-live": "polite" });
  const weights = Object.entries(shown.weights).map(([step, weight]) => [
    step,
    el("input", { type: "number", min: "0", max: "1000", step: "any", value: weight }),
  ]);
  const all = el("output", {});
  const add = () => fill(all, _("All together: {n}").replace("{n}", number(weights.reduce((sum, [, input]) => sum + Number(input.value), 0))));
  for (const [, input] of weights) input.addEventListener("input", add);
  add();
  const counts = choice(
    { last: _("the last one"), best: _("the best one"), first: _("the first one") },
    shown.counts,
  );
  const deadline = el("input", { type: "datetime-local", value: shown.deadline });
  const perDay = el("input", { type: "number", min: "0", max: "100", step: "any", value: shown.late_percent_per_day });
  const mostLost = el("input", { type: "number", min: "0", max: "100", step: "any", value: shown.late_percent_at_most });
  const method = el("textarea", { rows: "8", spellcheck: "false" });
  method.value = shown.method.join("\n");
  const asked = () => ({
    rules: {
      weights: Object.fromEntries(weights.map(([step, input]) => [step, Number(input.value)])),
      counts: counts.value,
      deadline: deadline.value,
      late_percent_per_day: Number(perDay.value),
      late_percent_at_most: Number(mostLost.value),
      method: method.value.split("\n").map((line) => line.trim()).filter(Boolean),
    },
  });
  async function look() {
    const changes = await run("effect-of-rules", { set: set.name, asked: asked(), place: out });
    if (!changes) return;
    const text = changes.length === 1 ? _("1 student’s marks change.") : _("{n} students’ marks change.").replace("{n}", changes.length);
    fill(
      out,
      note(changes.length ? "caution" : "news", changes.length ? text : _("No marks change.")),
      changes.length
        ? table(
            _("Marks that change"),
            [_("Student"), { text: _("Now"), number: true }, { text: _("Then"), number: true }],
            changes.map((one) => [one.name, shownMark(one.before), shownMark(one.after)]),
          )
        : null,
      el("div.buttons", {}, button(_("Keep these rules, and mark by them"), keep, "button.main")),
    );
  }
  async function keep() {
    if (await run("keep-rules", { set: set.name, asked: asked(), place: out })) await again();
  }
  fill(
    place,
    form(
      look,
      el("fieldset", {}, el("legend", {}, _("Marks of each step of an exercise")), el("div.row", {}, weights.map(([step, input]) => field(STEPS[step]?.() ?? step, input))), all),
      el(
        "div.row",
        {},
        field(_("Of several hand-ins counts"), counts),
        field(_("Deadline"), deadline),
        field(_("A day late loses, in percent"), perDay),
        field(_("At most, in percent"), mostLost),
      ),
      field(_("House method, a step a line"), method, _("The order in which tests are done here. Who follows it loses nothing by it.")),
      el("div.buttons", {}, el("button", { type: "submit" }, _("See what would change"))),
      out,
    ),
  );
}

// ---- the class -------------------------------------------------------------

export async function draw(body, { set }) {
  const place = el("div", {});
  const marks = el("section", {});
  const one = el("section", { "aria-live": "polite" });
  const ruled = el("div", {});
  let open = "";

  async function show() {
    const shown = await run("marks", { set: set.name, place: marks });
    if (!shown) return;
    fill(
      marks,
      shown.files.length
        ? table(_("Files that need a look"), [_("File"), _("Why")], shown.files.map((file) => [file.name, [file.reason, take(file)]]))
        : null,
      table(
        _("Marks of the class"),
        [
          _("Student"),
          ...shown.exercises.map((n) => ({ text: _("Exercise {n}").replace("{n}", n), number: true })),
          { text: _("Total"), number: true },
          _("Late"),
        ],
        shown.students.map((student) => [
          student.exercises.length ? button(student.name, () => openStudent(student.id), "button.plain") : student.name,
          ...shown.exercises.map((n) => {
            const its = student.exercises.find((each) => each.exercise === n);
            return its ? number(its.mark) : "–";
          }),
          student.exercises.length ? of(student.total, student.out_of) : _("not handed in"),
          student.late_days ? _("{n} days, {percent} % less").replace("{n}", student.late_days).replace("{percent}", number(student.deducted_percent)) : "",
        ]),
      ),
    );
  }

  function take(file) {
    if (file.status !== "undecided") return null;
    const asked = { student: file.student, code: file.code };
    return el("div", {}, button(_("Let this one count"), () => run("take", { set: set.name, asked, place }).then(show)));
  }

  async function openStudent(id) {
    open = id;
    const its = await run("student-marks", { set: set.name, asked: { student: id }, place: one });
    if (!its) return;
    const again = async () => {
      await show();
      await openStudent(id);
    };
    fill(
      one,
      el("h2", { tabindex: "-1" }, `${its.name}: ${of(its.total, its.out_of)}`),
      its.exercises.map((each) => exercise(set, id, each, again)),
    );
    const heading = one.querySelector("h2");
    heading.focus({ preventScroll: true });
    heading.scrollIntoView();
  }

  async function grade() {
    start.disabled = true;
    const graded = await run("grade", { set: set.name, place });
    start.disabled = false;
    if (!graded) return;
    fill(place, note("right", _("{n} of {all} files were marked.").replace("{n}", graded.graded).replace("{all}", graded.files)));
    await show();
    if (open) await openStudent(open);
  }

  async function openRules() {
    const shown = await run("rules", { set: set.name, place: ruled });
    if (shown) rules(set, ruled, shown, grade);
  }

  const start = button(_("Mark what came back"), grade, "button.main");
  const rulesNode = el("details", { ontoggle: ({ target }) => target.open && !ruled.childElementCount && openRules() }, el("summary", {}, _("What the marks go by")), ruled);
  fill(body, el("div.buttons", {}, start), place, marks, one, rulesNode);
  if (set.step === "mark") await grade();
  else if (set.graded) await show();
  else fill(marks, note("news", _("Nothing was handed in yet, so there is nothing to mark.")));
}
