// The fields of a step's form.

function drawField(field, step) {
  if (field.kind === "number") return drawNumber(field, step);
  if (field.kind === "select") return drawSelect(field, step);
  if (field.kind === "text") return drawLines(field, step);
  return drawRadios(field, step);
}

function drawNumber({ name, label, units, hint }, step) {
  const id = `${step.id}-${name}`;
  const echo = h("p", { id: `${id}-echo` });
  const rest = () => {
    echo.className = "cb-echo cb-help";
    echo.replaceChildren(hint);
  };
  rest();
  const input = h("input", {
    id,
    name,
    type: "text",
    inputmode: "decimal",
    // As much as workbook/quantities.py reads.
    maxlength: "80",
    autocomplete: "off",
    autocapitalize: "off",
    spellcheck: "false",
    "aria-describedby": `${id}-echo`,
    "data-control": name,
  });
  step.number = { input, echo };
  input.addEventListener("input", () => {
    rest();
    step.typed();
  });
  const unitKeys = units.map((unit) => {
    const fill = () => {
      const number = input.value.replace(/\s*[A-Za-zµμΩ]*\s*$/u, "");
      fillNumber(input, `${number} ${unit}`);
    };
    const names = { "aria-label": say("unit", { unit }), "data-control": `unit-${unit}` };
    return button(unit, fill, { class: "cb-unit", ...names });
  });
  return h(
    "div",
    { class: "cb-number-field" },
    h("label", { for: id }, label),
    h("div", { class: "cb-row" }, input, unitKeys),
    echo,
  );
}

function fillNumber(input, text) {
  input.value = text;
  input.focus();
  input.dispatchEvent(new Event("input"));
}

// Shows how a number was read, or which readings there are to choose from.
function showEcho({ input, echo }, { text, is_readable: isReadable, readings }) {
  echo.className = `cb-echo cb-${isReadable ? "right" : "caution"}`;
  const choices = (readings ?? []).map((reading) =>
    button(reading, () => fillNumber(input, reading)),
  );
  echo.replaceChildren(mark(isReadable ? "→" : "?"), h("span", {}, text, ...choices));
}

function drawRadios(field, step) {
  const radios = field.options.map((each) => drawRadio(field.name, step, each));
  return h(
    "fieldset",
    { class: radiosClass(field) },
    h("legend", {}, field.label),
    h("div", { class: "cb-options" }, radios),
  );
}

function radiosClass({ is_list: isList, is_column: isColumn }) {
  return ["cb-radios", isList && "cb-list", isColumn && "cb-column"]
    .filter(Boolean)
    .join(" ");
}

// Radios of one group are one stop for Tab.
function radioInput(name, step, value, group = name) {
  return h("input", {
    type: "radio",
    name: `${step.id}-${group}`,
    value,
    "data-field": name,
    "data-control": `${name}=${value}`,
  });
}

function drawRadio(name, step, { value, label }) {
  return h(
    "div",
    { class: "cb-option" },
    h("label", {}, radioInput(name, step, value), h("span", { class: "cb-label" }, label)),
  );
}

function drawLines({ name, label, most }, step) {
  const id = `${step.id}-${name}`;
  return h(
    "div",
    { class: "cb-text-field" },
    h("label", { for: id }, label),
    h("textarea", {
      id,
      name,
      rows: "2",
      maxlength: `${most}`,
      "aria-describedby": `${id}-most`,
      "data-control": name,
    }),
    h("p", { class: "cb-help", id: `${id}-most` }, say("most", { count: most })),
  );
}

function drawSelect(field, step) {
  const key = field.key ?? field.name;
  const id = `${step.id}-${key}`;
  return h(
    "div",
    { class: "cb-select-field" },
    h("label", { for: id }, field.label),
    h(
      "select",
      { id, name: field.name, "data-control": key },
      field.is_set ? null : h("option", { value: "" }, say("choose")),
      field.options.map(({ value, label }) => h("option", { value }, label)),
    ),
  );
}

// What was typed or chosen but not recorded stays when a form is drawn anew.
function carryDrafts(from, to) {
  for (const old of from.querySelectorAll("[data-control]")) {
    const selector = `[data-control="${CSS.escape(old.dataset.control)}"]`;
    const fresh = to.querySelector(selector);
    if (!fresh) continue;
    if (old.type === "radio" && old.checked) {
      fresh.checked = true;
      fresh.dispatchEvent(new Event("change", { bubbles: true }));
    } else if (["text", "textarea"].includes(old.type) || old.tagName === "SELECT") {
      fresh.value = old.value;
    }
  }
}

function valuesOf(form, fields) {
  const values = {};
  for (const field of fields) {
    const control =
      form.querySelector(`[data-field="${field.name}"]:checked`) ??
      form.querySelector(`[name="${field.name}"]`);
    const value = control?.value ?? "";
    if (!value.trim()) return { missing: `${field.label}.` };
    values[field.name] = value;
  }
  return { values };
}
