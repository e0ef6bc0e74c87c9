// Own lessons: begun, checked with file and line, and previewed.

import { bullets, button, el, field, fill, form, note, table } from "../dom.js";
import { previewOf } from "../preview.js";
import { _ } from "../texts.js";
import { run } from "../work.js";

function checked(found) {
  if (!found.problems.length) {
    return [
      note("right", _("The lesson is sound. Drawn for a trial:")),
      bullets(found.drawn),
      found.workbook ? previewOf(found.workbook) : null,
    ];
  }
  return [
    note("wrong", _("The lesson is at fault.")),
    table(
      _("Faults"),
      [_("File"), { text: _("Line"), number: true }, _("What is wrong, and what to write")],
      found.problems.map((one) => [one.file, one.line ?? "", one.message]),
    ),
  ];
}

export async function draw(body) {
  const list = el("section", {});
  const out = el("section", { "aria-live": "polite" });
  const name = el("input", { placeholder: "my-pumps", pattern: "[a-z][a-z0-9\\-]*", required: true });
  const begin = form(
    async () => {
      const made = await run("begin-lesson", { asked: { name: name.value }, place: out });
      if (!made) return;
      await show();
      fill(out, note("right", _("The lesson begins in {folder}. Change its files with any text editor, then check it.").replace("{folder}", made.folder)), bullets(made.written));
    },
    field(_("Name of a new lesson"), name, _("Small letters, digits and hyphens.")),
    el("div.buttons", {}, el("button", { type: "submit" }, _("Begin a lesson"))),
  );
  async function check(own) {
    const found = await run("check-lesson", { asked: { name: own }, place: out });
    if (found) fill(out, el("h2", {}, own), checked(found));
  }
  async function show() {
    const own = await run("own-lessons", { place: list });
    if (!own) return;
    fill(
      list,
      own.length
        ? table(_("Your lessons"), [_("Lesson"), _("Folder"), _("Check")], own.map((one) => [one.name, one.folder, button(_("Check and try"), () => check(one.name))]))
        : note("news", _("You have no lesson of your own yet.")),
    );
  }
  fill(
    body,
    el("p", {}, _("A lesson of your own draws exercises from your own circuits and parts. Every line of a new one says what it is.")),
    list,
    begin,
    out,
  );
  await show();
}
