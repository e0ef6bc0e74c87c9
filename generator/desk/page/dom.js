// Builds the page: elements, fields, tables and notes. What is written is always text.

// An element by its kind, as "div.card": properties whose name begins with "on" listen.
export function el(kind, given = {}, ...children) {
  const [tag, ...classes] = kind.split(".");
  const node = document.createElement(tag);
  if (classes.length) node.classList.add(...classes);
  for (const [name, value] of Object.entries(given)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value != null) node.setAttribute(name, value);
  }
  node.append(...children.flat(3).filter((child) => child != null && child !== false));
  return node;
}

let last = 0;
export const newId = () => `f${(last += 1)}`;

// A label with its control, and a help text that the control is described by.
export function field(label, control, help = "") {
  control.id ||= newId();
  const children = [el("label", { for: control.id }, label), control];
  if (help) {
    const said = el("p.help", { id: newId() }, help);
    control.setAttribute("aria-describedby", said.id);
    children.push(said);
  }
  return el("div.field", {}, children);
}

// A check box or radio button with its label behind it.
export function tick(label, given, ...more) {
  const control = el("input", { type: "checkbox", id: newId(), ...given });
  return el("div.tick", {}, control, el("label", { for: control.id }, label, more));
}

export function choice(options, chosen, given = {}) {
  return el(
    "select",
    given,
    Object.entries(options).map(([value, text]) =>
      el("option", { value, selected: value === chosen }, text),
    ),
  );
}

export const button = (text, onclick, kind = "button") =>
  el(kind, { type: "button", onclick }, text);

// A form whose button, or Enter in a field, does something here.
export const form = (onsubmit, ...children) =>
  el(
    "form",
    {
      onsubmit: (event) => {
        event.preventDefault();
        return onsubmit();
      },
    },
    ...children,
  );

export const bullets = (texts) => el("ul", {}, texts.map((text) => el("li", {}, text)));

// A table whose columns are texts, or {text, number: true}.
export function table(caption, columns, rows) {
  const heads = columns.map((one) => (typeof one === "string" ? { text: one } : one));
  const cell = (kind, index, given, ...inside) =>
    el(heads[index]?.number ? `${kind}.n` : kind, given, ...inside);
  return el(
    "div.wide",
    { tabindex: "0", role: "region", "aria-label": caption },
    el(
      "table",
      {},
      el("caption", {}, caption),
      el(
        "thead",
        {},
        el("tr", {}, heads.map((one, at) => cell("th", at, { scope: "col" }, one.text))),
      ),
      el(
        "tbody",
        {},
        rows.map((row) =>
          el(
            "tr",
            {},
            row.map((inside, at) =>
              at === 0
                ? el("th", { scope: "row" }, inside)
                : cell("td", at, {}, inside),
            ),
          ),
        ),
      ),
    ),
  );
}

// What happened, in a colour, a sign and words.
const SIGNS = { right: "✓", wrong: "✗", caution: "!", news: "i" };
export function note(tone, ...inside) {
  return el(
    `div.note.${tone}`,
    {},
    el("span.sign", { "aria-hidden": "true" }, SIGNS[tone]),
    el("div", {}, ...inside),
  );
}

export const lines = (text) =>
  String(text)
    .split("\n")
    .map((line) => el("p", {}, line));

export function fill(place, ...inside) {
  place.replaceChildren(...inside.flat(3).filter((one) => one != null && one !== false));
}

// Says something to who does not see the page.
export function say(text) {
  document.getElementById("said").textContent = text;
}
