// Answers on paper, typed in exercise by exercise, as a student's handout asks for them.

import { button, choice, el, field, fill, note } from "./dom.js";
import { _ } from "./texts.js";
import { run } from "./work.js";

const options = (pairs) => Object.fromEntries([["", "–"], ...pairs.map(([value, text]) => [value, value === text ? text : `${value}: ${text}`])]);

// A control for one answer; its value is what stands in the table of typed answers.
function control(asked) {
  if (asked.first.length && !asked.is_ordered) return choice(options(asked.first), "");
  return el("input", { autocomplete: "off" });
}

function help(asked) {
  if (asked.is_ordered) {
    const letters = asked.first.map(([letter, text]) => `${letter}: ${text}`).join("; ");
    return `${_("The letters in their order, as b a c.")} ${letters}`;
  }
  if (asked.lines.length) return `${_("With | between the lines:")} ${asked.lines.join(" | ")}`;
  return asked.unit ? _("A number with its unit, as 0.16 {unit}.").replace("{unit}", asked.unit) : "";
}

function single(exercise, asked) {
  const first = control(asked);
  const second = asked.second.length ? choice(options(asked.second), "") : null;
  const names = {
    prediction: `${_("Prediction {n}").replace("{n}", asked.item)}: ${asked.label}`,
    // Says itself that it is after the repair.
    verification: asked.label,
    answer: `${_("Question {n}").replace("{n}", asked.item)}: ${asked.label}`,
    conclusion: _("Cause"),
  };
  const node = el("div", {}, field(names[asked.step] ?? asked.label, first, help(asked)), second && field(_("Correction"), second));
  const rows = () => [
    { exercise, step: asked.step, item: asked.item, answer: first.value, second_answer: second?.value ?? "" },
  ];
  return { node, rows };
}

// The tests that were done, in their order: each chosen from the list, with its finding.
function testsDone(exercise, tests, findings) {
  const list = el("ol", {});
  const done = [];
  function add() {
    const which = choice(options(tests.map((one) => [one.item, one.label])), "");
    const place = el("div.row", {});
    const entry = { rows: () => [] };
    which.addEventListener("change", () => {
      const test = tests.find((one) => one.item === which.value);
      const finding = findings.find((one) => one.item === which.value);
      if (!test) {
        entry.rows = () => [];
        return fill(place);
      }
      const expected = control(test);
      const found = control(finding);
      const statement = choice(options(finding.second), "");
      entry.rows = () => [
        { exercise, step: "test", item: test.item, answer: expected.value, second_answer: "" },
        { exercise, step: "finding", item: test.item, answer: found.value, second_answer: statement.value },
      ];
      return fill(
        place,
        field(_("Expected of a sound circuit"), expected),
        field(_("The reading is"), found),
        field(_("It proves"), statement),
      );
    });
    done.push(entry);
    list.append(el("li", {}, field(_("Test"), which), place));
    which.focus();
  }
  const node = el(
    "div",
    {},
    el("h4", {}, _("Tests, in the order in which they were done")),
    list,
    el("div.buttons", {}, button(_("Add a test"), add)),
  );
  return { node, rows: () => done.flatMap((one) => one.rows()) };
}

function exerciseForm({ number, title, asked }) {
  const of = (step) => asked.filter((one) => one.step === step);
  const parts = [...of("answer"), ...of("prediction")].map((one) => single(number, one));
  if (of("test").length) parts.push(testsDone(number, of("test"), of("finding")));
  parts.push(...[...of("conclusion"), ...of("verification")].map((one) => single(number, one)));
  const node = el(
    "fieldset",
    {},
    el("legend", {}, `${_("Exercise {n}").replace("{n}", number)}: ${title}`),
    parts.map((part) => part.node),
  );
  return { node, rows: () => parts.flatMap((part) => part.rows()) };
}

// The whole form, to be opened for one student after the other.
export function paperForm(set, after) {
  const names = Object.fromEntries(set.students.map((one) => [one.id, `${one.name} (${one.id})`]));
  const student = choice(names, set.students[0].id, { onchange: () => fill(place) });
  const place = el("div", {});

  async function open() {
    const exercises = await run("paper-form", { set: set.name, asked: { student: student.value }, place });
    if (!exercises) return;
    const parts = exercises.map(exerciseForm);
    const said = el("div", { "aria-live": "polite" });
    const keep = button(_("Keep these answers"), () => put(parts, said), "button.main");
    fill(
      place,
      el("p", {}, _("Fill in what stands on the handout. What is left empty counts for nothing.")),
      parts.map((part) => part.node),
      el("div.buttons", {}, keep),
      said,
    );
  }

  async function put(parts, said) {
    const answers = parts.flatMap((part) => part.rows()).filter((row) => row.answer || row.second_answer);
    const asked = { student: student.value, answers };
    const kept = await run("keep-paper", { set: set.name, asked, place: said });
    if (!kept) return;
    fill(said, note("right", _("Kept for {name}, in place of what was typed in before.").replace("{name}", names[student.value])));
    await after();
  }

  return el(
    "details",
    {},
    el("summary", {}, _("Type in answers from paper")),
    field(_("Student"), student),
    el("div.buttons", {}, button(_("Open the form"), open)),
    place,
  );
}
