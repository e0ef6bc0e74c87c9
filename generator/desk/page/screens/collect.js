// Collect: what came back, who is missing, what was refused and why; answers on paper.

import { upload } from "../api.js";
import { el, fill, note, table } from "../dom.js";
import { dropZone } from "../dropped.js";
import { paperForm } from "../paper_form.js";
import { _ } from "../texts.js";
import { faultsOf, run } from "../work.js";

const people = (found) => el("ul.people", {}, found.map((one) => el("li", {}, `${one.name} (${one.id})`)));

function found({ handed_in: came, missing, files }, set) {
  const refused = files.filter((one) => one.refusal);
  return [
    el(
      "dl.figures",
      {},
      el("div", {}, el("dt", {}, _("Handed in")), el("dd", {}, `${came.length} / ${set.students.length}`)),
      el("div", {}, el("dt", {}, _("Missing")), el("dd", {}, String(missing.length))),
      el("div", {}, el("dt", {}, _("Not taken")), el("dd", {}, String(refused.length))),
    ),
    came.length
      ? el("p", {}, el("a.main", { href: `#/set/${encodeURIComponent(set.name)}/mark` }, _("Mark what came back")))
      : null,
    refused.length
      ? table(_("Files that were not taken, and why"), [_("File"), _("Why")], refused.map((one) => [one.name, one.refusal]))
      : null,
    el("h2", {}, _("Missing")),
    missing.length ? people(missing) : note("right", _("Everybody has handed in.")),
    el("h2", {}, _("Handed in")),
    came.length ? people(came) : note("news", _("Nothing came back yet.")),
  ];
}

// ---- the screen ------------------------------------------------------------

export async function draw(body, { set }) {
  const said = el("div", { "aria-live": "polite" });
  const place = el("section", {});
  async function look() {
    const result = await run("collect", { set: set.name, place });
    if (result) fill(place, found(result, set));
  }
  async function take(files) {
    const faults = [];
    const put = [];
    for (const [at, file] of files.entries()) {
      fill(said, el("p", {}, _("Taking {n} of {all} files …").replace("{n}", at + 1).replace("{all}", files.length)));
      try {
        // With its folders, which may tell whose it is.
        put.push({ ...(await upload(file)), name: file.webkitRelativePath || file.place || file.name });
      } catch (error) {
        faults.push(el("li", {}, `${file.name}: ${error.message}`));
      }
    }
    const taken = put.length ? await run("put-in", { set: set.name, asked: { files: put }, place: said }) : { names: [] };
    if (!taken) return;
    fill(
      said,
      note("right", taken.names.length === 1 ? _("1 file came in.") : _("{n} files came in.").replace("{n}", taken.names.length)),
      faults.length ? note("wrong", el("ul", {}, faults)) : null,
    );
    await look();
  }
  fill(
    body,
    dropZone(_("Drop here what students have handed in: files, folders or zips. Or choose them."), {
      multiple: true,
      onfiles: (files) => take(files).catch((error) => fill(said, faultsOf(error))),
    }),
    said,
    place,
    paperForm(set, look),
  );
  await look();
}
