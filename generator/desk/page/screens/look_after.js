// Look after: what is kept of a student, given out or deleted everywhere.

import { download } from "../api.js";
import { bullets, button, choice, el, field, fill, form, note } from "../dom.js";
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
    const sure = form(
      () => {
        if (typed.value.trim() === student.value) forget();
        else fill(said, note("caution", _("That is not the id.")));
      },
      note("caution", _("This deletes all that gradebook and results hold of {name}. It cannot be taken back.").replace("{name}", names[student.value])),
      field(_("Type the id to delete: {id}").replace("{id}", student.value), typed),
      el("div.buttons", {}, el("button.main", { type: "submit" }, _("Delete")), button(_("Cancel"), () => fill(place))),
    );
    const said = el("div", {});
    fill(place, sure, said);
    typed.focus();
  }

  async function forget() {
    const done = await run("forget", { set: set.name, asked: asked(), place });
    if (!done) return;
    fill(
      place,
      note("right", _("Deleted {n} rows of the gradebook and {files} files of results.").replace("{n}", done.rows).replace("{files}", done.deleted.length)),
      done.left.length
        ? [el("p", {}, _("Yours to keep or delete are hand-ins, which marking takes up again, and all else that is left here:")), bullets(done.left)]
        : null,
      done.elsewhere.map((one) => el("p.quiet", {}, one)),
    );
  }

  fill(
    body,
    el("p", {}, _("What this set keeps of one student: hand-ins, marks, sheets.")),
    set.graded ? null : note("news", _("Nothing is kept of anybody before something was marked.")),
    field(_("Student"), student),
    el("div.buttons", {}, button(_("Give out all that is kept"), give), button(_("Delete all that is kept"), ask)),
    place,
  );
}
