// Elements of a page, and what it says by itself. workbook/page/form.py joins the scripts of
// this folder to one text, which is all that a widget takes: what one of them declares, all
// of them know.

const MARKS = { right: "✓", wrong: "✗", caution: "⚠", news: "●" };

// Jupyter takes single keys as commands (d d deletes a cell) unless the element that
// has the focus says otherwise itself; saying so on an ancestor does not help.
const FOCUSABLE = new Set(["INPUT", "SELECT", "TEXTAREA", "BUTTON", "SUMMARY"]);

// Keeps a number with its unit at the end of a line, as workbook/no_break.py does.
const BEFORE_UNIT =
  /(\d) (?=(?:%|°C|[mkMG]?Ω|[µm]?[VAWFHs]|mV\/A|A\/s|[cmk]?m|mm²|min|kHz|Hz|Nm|bar|rpm|[1U]\/min|minutes?|Minuten?)(?![\p{L}\d/²]))/gu;

function keepUnits(child) {
  return typeof child === "string" ? child.replace(BEFORE_UNIT, "$1\u00a0") : child;
}

function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  if (FOCUSABLE.has(element.tagName) || element.hasAttribute("tabindex")) {
    element.setAttribute("data-lm-suppress-shortcuts", "true");
  }
  const shown = children.flat(Infinity).filter((child) => child != null);
  element.append(...shown.map(keepUnits));
  return element;
}

// A button that does something; it sends no form.
function button(text, onclick, attributes = {}) {
  return h("button", { type: "button", onclick, ...attributes }, text);
}

// A sign for the eye, where words stand beside it.
function mark(sign = "") {
  return h("span", { class: "cb-mark", "aria-hidden": "true" }, sign);
}

// What the page says by itself (workbook/page/page_texts.py): all forms of a page belong to
// one workbook, and so speak one language.
let texts = {};

function say(name, values = {}) {
  return texts[name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

function clock(time) {
  const moment = new Date(time);
  const two = (number) => String(number).padStart(2, "0");
  return [moment.getHours(), moment.getMinutes(), moment.getSeconds()]
    .map(two)
    .join(":");
}

function remark({ tone, label, text }) {
  return h(
    "p",
    { class: `cb-remark cb-${tone}` },
    mark(MARKS[tone]),
    h("span", {}, h("strong", {}, label), " ", text),
  );
}
