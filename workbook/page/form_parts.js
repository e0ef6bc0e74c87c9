// The parts of a page that only show something. workbook/page/form.py puts this text before
// that of form.js: a widget's script is one text.

const MARKS = { right: "✓", wrong: "✗", caution: "⚠", news: "●" };

// Jupyter takes single keys as commands (d d deletes a cell) unless the element that
// has the focus says otherwise itself; saying so on an ancestor does not help.
const FOCUSABLE = new Set(["INPUT", "SELECT", "TEXTAREA", "BUTTON", "SUMMARY"]);

// Keeps a number with its unit at the end of a line, as workbook/no_break.py does.
const BEFORE_UNIT =
  /(\d) (?=(?:%|°C|[mkMG]?Ω|[µm]?[VAWFHs]|mV\/A|[cmk]?m|mm²|min|minutes?|Minuten?)(?![\p{L}\d/²]))/gu;

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
    h("span", { class: "cb-mark", "aria-hidden": "true" }, MARKS[tone] ?? ""),
    h("span", {}, h("strong", {}, label), " ", text),
  );
}

function drawText({ text }) {
  return h("p", { class: "cb-text" }, text);
}

function drawAnswer({ rows, typed, time, remarks }) {
  const facts = rows.map(([label, value]) => [
    h("dt", {}, label),
    h("dd", {}, value),
  ]);
  const told = [
    typed && say("wrote", { text: typed }),
    time && say("recorded_at", { time: clock(time) }),
  ];
  return h(
    "div",
    { class: "cb-answer", role: "group", "aria-label": rows[0][0], tabindex: "-1" },
    h("dl", {}, ...facts.flat()),
    h("p", { class: "cb-small" }, told.filter(Boolean).join(" ")),
    ...remarks.map(remark),
  );
}

// The words stand for the eye too where the screen is too small to be read.
function drawScreen({ src, alt }) {
  return h(
    "figure",
    { class: "cb-screen" },
    h("img", { src, alt }),
    h("figcaption", { "aria-hidden": "true" }, alt),
  );
}

function drawReading(part) {
  const { title, how, display, instrument, picture, facts, remarks } = part;
  const long = display.length > 12 ? " cb-long" : "";
  return h(
    "div",
    { class: "cb-reading", role: "group", "aria-label": title, tabindex: "-1" },
    h("h5", {}, title),
    h("p", { class: "cb-small" }, how),
    picture && drawScreen(picture),
    h(
      "div",
      { class: "cb-meter" },
      h("span", { class: "cb-hidden" }, say("reading")),
      h("span", { class: `cb-display${long}` }, display),
      h("span", { class: "cb-instrument" }, instrument),
    ),
    h(
      "dl",
      {},
      facts.map(([what, told]) => [h("dt", {}, what), h("dd", {}, told)]),
    ),
    ...remarks.map(remark),
  );
}

// The roles keep it a table where a narrow page lays its rows out as a grid.
function drawTable({ caption, columns, rows, foot }) {
  const row = ([first, ...rest]) =>
    h(
      "tr",
      { role: "row" },
      h("th", { role: "rowheader", scope: "row" }, first),
      rest.map((cell) => h("td", { role: "cell" }, cell)),
    );
  const heads = columns.map((column) =>
    h("th", { role: "columnheader", scope: "col" }, column),
  );
  return h(
    "table",
    { class: "cb-log", role: "table" },
    h("caption", {}, caption, " · ", foot),
    h("thead", { role: "rowgroup" }, h("tr", { role: "row" }, heads)),
    h("tbody", { role: "rowgroup" }, rows.map(row)),
  );
}

// What to look for in what is written, to be ticked off in one's head.
function drawChecklist(points) {
  if (!points?.length) return null;
  return h(
    "div",
    { class: "cb-checklist" },
    h("p", {}, say("check")),
    h("ul", {}, points.map((point) => h("li", {}, point))),
  );
}

function drawRemarks({ remarks }) {
  return h("div", { class: "cb-remarks", tabindex: "-1" }, ...remarks.map(remark));
}

function drawPair({ tables, text }) {
  return h(
    "div",
    {},
    h("div", { class: "cb-pair" }, ...tables.map(drawTable)),
    h("p", { class: "cb-small" }, text),
  );
}

const STATE_MARKS = { cleared: "✓", suspect: "?", "not told yet": "·" };

function drawSectionOfCircuit({ label, state, state_text: stateText }) {
  return h(
    "li",
    { class: `cb-part cb-${state.replaceAll(" ", "-")}` },
    h("span", { class: "cb-mark", "aria-hidden": "true" }, STATE_MARKS[state]),
    h("span", {}, h("span", { class: "cb-label" }, label), " ", h("em", {}, stateText)),
  );
}

// Lists in the order of the current: read out, each is "coil of K5 cleared".
function drawCircuit({ caption, rows, remarks }) {
  const row = ({ label, sections }) => [
    h("p", { class: "cb-small" }, label),
    h("ol", { role: "list", "aria-label": label }, sections.map(drawSectionOfCircuit)),
  ];
  return h(
    "div",
    { class: "cb-circuit" },
    h("h5", {}, caption),
    rows.map(row),
    ...remarks.map(remark),
  );
}

function drawDetails({ summary, items }) {
  return h(
    "details",
    { class: "cb-earlier" },
    h("summary", { "data-control": "summary" }, summary),
    items.map(({ heading, remarks }) => [h("h5", {}, heading), ...remarks.map(remark)]),
  );
}

const PARTS = {
  answer: drawAnswer,
  circuit: drawCircuit,
  details: drawDetails,
  pair: drawPair,
  picture: drawScreen,
  reading: drawReading,
  remarks: drawRemarks,
  table: drawTable,
  text: drawText,
};
