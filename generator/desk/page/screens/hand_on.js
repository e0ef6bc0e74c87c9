// Hand on: marks for other programs, and exercises as a package of items.

import { download, get, post, upload } from "../api.js";
import { bullets, button, choice, el, field, fill, note, tick } from "../dom.js";
import { dropZone } from "../dropped.js";
import { _, language } from "../texts.js";
import { run } from "../work.js";

export async function draw(body, { set }) {
  const place = el("div", { "aria-live": "polite" });
  const decimal = choice({ point: _("point: 12.5"), comma: _("comma: 12,5") }, language() === "de" ? "comma" : "point");
  const write = (format, given = {}) => async () => {
    const made = await run("export", { set: set.name, asked: { format, decimal: decimal.value, ...(typeof given === "function" ? given() : given) }, place });
    if (!made) return;
    fill(
      place,
      note("right", el("a", { href: download(made) }, _("Save {file}").replace("{file}", made.name))),
      made.notes.length ? note("caution", bullets(made.notes)) : null,
    );
    place.querySelector("a").focus();
  };
  const offer = (title, text, ...tools) => el("li.card", {}, el("h2", {}, title), el("p", {}, text), tools);

  const before = await get("settings");
  const column = el("input", { value: before.column ?? "" });
  const idColumn = el("input", { value: before.id_column ?? "id" });
  let file = null;
  const chosen = el("p.quiet", {}, _("No table is chosen yet."));
  const own = [
    dropZone(_("Drop your own table here, or choose it (CSV)."), {
      onfiles: async ([given]) => {
        try {
          file = { ...(await upload(given)), name: given.name };
          fill(chosen, given.name);
        } catch (error) {
          fill(chosen, error.message);
        }
      },
    }),
    chosen,
    field(_("Column to fill"), column),
    field(_("Column of the ids"), idColumn),
    button(_("Fill the column"), async () => {
      if (!file) return fill(place, note("caution", _("Choose your table first.")));
      const columns = { column: column.value, id_column: idColumn.value };
      await post("settings", columns).catch(() => null);
      return write("column", { ...columns, upload: file.upload, name: file.name })();
    }),
  ];
  const home = el("input", { type: "url", placeholder: "https://school.example" });
  const names = tick(_("With names and ids; without, students are codes"), {});
  const exports = [
    offer(_("Spreadsheet"), _("Marks of every step, as XLSX or CSV."), el("div.buttons", {}, button(_("XLSX"), write("xlsx")), button(_("CSV"), write("csv")))),
    offer(_("A column of your own table"), _("Fills one column and leaves all else as it is."), own),
    offer(_("School’s information system"), _("OneRoster results, where the class came from such a system."), el("div.buttons", {}, button(_("OneRoster"), write("oneroster")))),
    offer(
      _("Learning record store"),
      _("xAPI statements, one a line."),
      field(_("Address of the system that the students’ accounts are of"), home),
      names,
      el("div.buttons", {}, button(_("xAPI"), write("xapi", () => ({ home_page: home.value, has_names: names.querySelector("input").checked })))),
    ),
  ];
  const always = offer(
    _("Test items"),
    _("Numbers and choices that are asked, with their answers, as a QTI 3.0 package. Answers are in it."),
    el("div.buttons", {}, button(_("QTI"), write("qti"))),
  );
  fill(
    body,
    set.graded ? null : note("news", _("Nothing is marked yet: marks can be handed on after that.")),
    place,
    set.graded ? field(_("Decimals in CSV and in your own table"), decimal) : null,
    el("ul.cards", {}, set.graded ? exports : [], always),
  );
}
