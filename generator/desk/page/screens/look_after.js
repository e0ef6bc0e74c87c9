// Look after: what is kept of a student, given out or deleted everywhere.

import { download } from "../api.js";
import { bullets, button, choice, el, field, fill, form, note, tick } from "../dom.js";
import { _ } from "../texts.js";
import { run } from "../work.js";

export async function draw(body, { set }) {
  const names = Object.fromEntries(set.students.map((one) => [one.id, `${one.name} (${one.id})`]));
  const student = choice(names, set.students[0].id, { onchange: () => fill(place) });
  const place = el("div", { "aria-live": "polite" });
  const asked = () => ({ student: student.value });

  async function give() {
    const made = await run("everything-of", { set: set.name, asked: asked(), place });
    if (made) fill(place, note("right", el("a", { href: download(made) }, _("Save {file}").replace("{file}", made.name))));
  }

  function ask() {
    const typed = el("input", { autocomplete: "off" });
    const handIns = tick(
      _("Hand-ins, too. Those that stay are marked again with the others."),
      { checked: true },
    );
    const sure = form(
      () => {
        if (typed.value.trim() === student.value) forget(handIns.querySelector("input").checked);
        else fill(said, note("caution", _("That is not the id.")));
      },
      note("caution", _("This deletes all that gradebook and results hold of {name}. It cannot be taken back.").replace("{name}", names[student.value])),
      handIns,
      field(_("Type the id to delete: {id}").replace("{id}", student.value), typed),
      el("div.buttons", {}, el("button.main", { type: "submit" }, _("Delete")), button(_("Cancel"), () => fill(place))),
    );
    const said = el("div", {});
    fill(place, sure, said);
    typed.focus();
  }

  async function forget(handIns) {
    const done = await run("forget", { set: set.name, asked: { ...asked(), hand_ins: handIns }, place });
    if (!done) return;
    fill(
      place,
      note("right", _("Deleted {n} rows of the gradebook and {files} files.").replace("{n}", done.rows).replace("{files}", done.deleted.length)),
      done.left.length
        ? [el("p", {}, _("These may still hold something of the student. Archives of hand-ins are marked again with the others; delete in the folder of the set what has to go:")), bullets(done.left)]
        : null,
      done.elsewhere.map((one) => el("p.quiet", {}, one)),
    );
  }

  fill(
    body,
    el("p", {}, _("What this set keeps of one student: hand-ins, marks, sheets.")),
    set.graded ? null : note("news", _("Nothing is kept of anybody before something was marked.")),
    field(_("Student"), student),
    el("div.buttons", {}, button(_("Save a copy of all that is kept"), give), button(_("Delete all that is kept"), ask)),
    place,
  );
}
