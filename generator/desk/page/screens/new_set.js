// New set: class list, lessons, kind, and a look at what will be drawn before it is.

import { get, setAddress, upload } from "../api.js";
import { bullets, button, choice, el, field, fill, form, note, table, tick } from "../dom.js";
import { dropZone } from "../dropped.js";
import { previewOf } from "../preview.js";
import { _ } from "../texts.js";
import { faultsOf, remember, run } from "../work.js";
import { languages } from "../languages.js";
import { kindOf, studentsOf } from "./sets.js";

const COLUMNS = {
  id: () => _("Id"),
  name: () => _("Name"),
  given: () => _("First name"),
  family: () => _("Last name"),
  login: () => _("Login"),
};

const isTold = ({ id, name, given, family }) =>
  id != null && [name, given, family].some((one) => one != null);

// ---- students --------------------------------------------------------------

function students(earlier) {
  const state = { upload: "", upload_name: "", columns: null, class_id: "" };
  const found = el("div", {});
  const readAs = el("div", { "aria-live": "polite" });
  const invented = el("input", { type: "number", min: "1", max: "2000", value: "12" });
  const place = el("div", {});

  async function take([file]) {
    try {
      state.upload = (await upload(file)).upload;
    } catch (error) {
      fill(found, faultsOf(error));
      return;
    }
    state.upload_name = file.name;
    const asked = { upload: state.upload, upload_name: file.name };
    const sample = await run("look-at-list", { asked, place: found });
    if (!sample) {
      state.upload = "";
      return;
    }
    drawSample(file.name, sample);
  }

  function drawSample(name, sample) {
    const many = sample.count === 1 ? _("1 row") : _("{n} rows").replace("{n}", sample.count);
    const parts = [note("news", `${name}: ${many}`)];
    if (sample.classes.length) {
      const classes = Object.fromEntries(sample.classes);
      const picked = choice(classes, sample.classes[0][0], {
        onchange: () => {
          state.class_id = picked.value;
          read();
        },
      });
      state.class_id = picked.value;
      state.columns = null;
      parts.push(field(_("Class"), picked));
    } else {
      parts.push(...pickers(sample));
    }
    fill(found, parts, readAs);
    read();
  }

  // As it will be read for the set, so that a fault is told beside the list.
  async function read() {
    const place = el("div", {});
    fill(readAs, place);
    if (state.columns && !isTold(state.columns)) return;
    const list = await run("read-list", { asked: { ...state }, place });
    if (list) fill(place, note("right", studentsOf(list.students)));
  }

  function pickers(sample) {
    const heads = Object.fromEntries([
      ["", _("none")],
      ...sample.columns.map((head, at) => [String(at), head || _("column {n}").replace("{n}", at + 1)]),
    ]);
    state.columns = { id: null, name: null, given: null, family: null, login: null, ...sample.guess };
    const picks = Object.entries(COLUMNS).map(([key, text]) => {
      const at = state.columns[key];
      const picked = choice(heads, at == null ? "" : String(at), {
        onchange: () => {
          state.columns[key] = picked.value === "" ? null : Number(picked.value);
          read();
        },
      });
      return field(text(), picked, key === "login" ? _("Only for a hub of the school.") : "");
    });
    return [
      el("p", {}, _("Which column is what? A name may stand in one column or in two. Where there is no id, choose what else tells your students apart.")),
      el("div.row", {}, picks),
      table(_("The first rows of the file"), sample.columns, sample.rows),
    ];
  }

  const source = el("fieldset", {}, el("legend", {}, _("Students")));
  const fromList = el(
    "div",
    {},
    dropZone(_("Drop your class list here, or choose it: a table (CSV, XLSX) or OneRoster (zip)."), {
      onfiles: take,
    }),
    found,
  );
  const ways = {
    ...(earlier ? { same: _("The class of {set}").replace("{set}", earlier.name) } : {}),
    list: _("A class list of mine"),
    invented: _("Invented names, to try it"),
  };
  let chosen = earlier ? "same" : "list";
  const draw = () =>
    fill(place, chosen === "list" ? fromList : chosen === "invented" ? field(_("How many"), invented) : null);
  for (const [value, text] of Object.entries(ways)) {
    source.append(
      tick(text, {
        type: "radio",
        name: "students",
        value,
        checked: value === chosen,
        onchange: () => {
          chosen = value;
          draw();
        },
      }),
    );
  }
  source.append(place);
  draw();
  const asked = () =>
    chosen === "invented"
      ? { invented: Number(invented.value) }
      : chosen === "same"
        ? {}
        : { ...state };
  const lacks = () =>
    chosen === "list" && !state.upload
      ? _("Drop a class list first, or let names be invented.")
      : chosen === "list" && state.columns && state.columns.id == null
        ? _("Choose the column of the ids.")
        : "";
  return { node: source, asked, lacks };
}

// ---- lessons ---------------------------------------------------------------

function lessonList(cards, earlier) {
  const wanted = new Set(cards.filter(({ own }) => !own).map(({ id }) => id));
  const boxes = cards.map((card) =>
    tick(
      card.own ? _("{title} (your own)").replace("{title}", card.title) : `${card.number}. ${card.title}`,
      {
        value: card.id,
        checked: earlier ? earlier.lesson_ids.includes(card.id) : wanted.has(card.id),
      },
      el("small", {}, card.aims.join(" ")),
      card.minutes && el("small", {}, _("About {n} minutes an exercise.").replace("{n}", card.minutes)),
    ),
  );
  const controls = boxes.map((box) => box.querySelector("input"));
  const all = (isChecked) => () => controls.forEach((one) => (one.checked = isChecked));
  const node = el(
    "fieldset",
    {},
    el("legend", {}, _("Lessons")),
    el("div.buttons", {}, button(_("All"), all(true)), button(_("None"), all(false))),
    el("div.lessons", {}, boxes),
  );
  const asked = () => ({ lessons: controls.filter((one) => one.checked).map((one) => one.value) });
  const lacks = () => (asked().lessons.length ? "" : _("Choose one lesson or more."));
  return { node, asked, lacks };
}

// ---- kind ------------------------------------------------------------------

function kinds(earlier) {
  const about = {
    practice: _("Feedback at every step; every student gets other causes."),
    graded: _("Readings only; marks come from you."),
    examination: _("Not even the readings are in the students’ files: this machine gives them one by one."),
  };
  const node = el("fieldset", {}, el("legend", {}, _("Kind")));
  for (const [value, text] of Object.entries(about)) {
    node.append(
      tick(kindOf(value), { type: "radio", name: "mode", value, checked: value === "practice" }, el("small", {}, text)),
    );
  }
  const causes = choice(
    {
      own: _("own causes for each student, equally hard"),
      same: _("the same causes for all, each student in an order of their own"),
    },
    "own",
  );
  const place = el("div", {});
  const mode = () => node.querySelector("input:checked").value;
  node.addEventListener("change", () =>
    fill(
      place,
      mode() === "practice"
        ? null
        : field(_("Causes"), causes, _("With the same causes for all, one whisper helps everybody.")),
    ),
  );
  node.append(place);
  return { node, asked: () => ({ mode: mode(), causes: causes.value }), lacks: () => "" };
}

// ---- the whole form --------------------------------------------------------

function freeName(names, earlier) {
  const stem = /^(.*?)(\d+)$/.exec(earlier?.name ?? "");
  let number = stem ? Number(stem[2]) + 1 : 1;
  const word = stem ? stem[1] : `${_("week")} `;
  while (names.includes(`${word}${number}`)) number += 1;
  return `${word}${number}`;
}

export async function draw(body, { more }) {
  const { sets } = await get("sets");
  const after = more[0] === "after" ? more[1] : "";
  const earlier = after ? await get(setAddress(after)) : null;
  const place = el("div", {});
  fill(body, place);
  const cards = await run("lessons", { place });
  if (!cards) return;
  const parts = [students(earlier), lessonList(cards, earlier), kinds(earlier)];
  const name = el("input", { value: freeName(sets.map((set) => set.name), earlier), maxlength: "60" });
  const exercises = el("input", { type: "number", min: "1", max: "50", value: "4" });
  const spoken = choice(languages(), earlier?.language ?? document.documentElement.lang);
  const deadline = el("input", { type: "datetime-local" });
  const secret = el("input", { type: "password", autocomplete: "new-password" });
  const out = el("section", { "aria-live": "polite" });
  const asked = () => ({
    ...Object.assign({}, ...parts.map((part) => part.asked())),
    name: name.value,
    exercises: Number(exercises.value),
    set_language: spoken.value,
    deadline: deadline.value,
    after,
    passphrase: secret.value || null,
  });

  async function preview() {
    const lacks = parts.map((part) => part.lacks()).find(Boolean);
    if (lacks) return fill(out, note("caution", lacks));
    const job = await run("preview", { asked: asked(), place: out, whole: true });
    if (!job) return;
    fill(out, drawn(job));
    out.scrollIntoView({ block: "nearest" });
  }

  function drawn(job) {
    const { text, workbook, students: named } = job.result;
    const doing = el("div", {});
    const make = button(
      _("Make the set"),
      async () => {
        make.disabled = true;
        // The desk gives it the secret of this preview, so that what was shown is
        // drawn.
        const made = await run("generate", { asked: { ...asked(), goes_on: job.id }, place: doing });
        make.disabled = false;
        if (!made) return;
        remember(made.set, secret.value);
        location.hash = `#/set/${encodeURIComponent(made.set)}/check`;
      },
      "button.main",
    );
    return [
      el("h2", {}, _("What will be drawn")),
      el("p", {}, el("strong", {}, text), "."),
      named.length
        ? el(
            "details",
            {},
            el("summary", {}, studentsOf(named.length)),
            bullets(named.map((one) => `${one.name} (${one.id})`)),
          )
        : null,
      previewOf(workbook),
      el("div.buttons", {}, make),
      doing,
    ];
  }

  const wanted = form(
    preview,
    earlier &&
      note("news", _("This set puts first what {set} showed to be weak.").replace("{set}", earlier.name)),
    parts.map((part) => part.node),
    el(
      "div.row",
      {},
      field(_("Exercises for each student"), exercises),
      field(_("Language of the workbooks"), spoken),
      field(_("Deadline"), deadline, _("May be left empty. What comes later is marked as late.")),
    ),
    field(_("Name of the set"), name, _("It is the name of its folder, too.")),
    el(
      "details",
      {},
      el("summary", {}, _("Passphrase")),
      field(
        _("Passphrase for the answer key"),
        secret,
        _("May be left empty. With it nobody else at this computer can open the answers; if you forget it, nobody can mark the set."),
      ),
    ),
    el("div.buttons", {}, el("button.main", { type: "submit" }, _("Preview"))),
  );
  // What was previewed is not what is asked for any more.
  wanted.addEventListener("input", () => fill(out));
  fill(body, wanted, out);
}
