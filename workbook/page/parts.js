// The parts of a page that only show something.

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

// The words stand for the eye too where the screen is too small to be read; a click opens
// it as large as the window.
function drawScreen({ src, alt }) {
  const image = () => h("img", { src, alt });
  const large = h("dialog", { class: "cb-large", "aria-label": alt });
  const close = button(say("close"), () => large.close(), { class: "cb-primary" });
  const enlarge = () => {
    large.replaceChildren(close, image());
    large.showModal();
  };
  large.addEventListener("click", ({ target }) => target === large && large.close());
  const shown = [image(), h("span", { class: "cb-small" }, say("enlarge"))];
  const open = button(shown, enlarge, { class: "cb-open" });
  return h(
    "figure",
    { class: "cb-screen" },
    open,
    h("figcaption", { "aria-hidden": "true" }, alt),
    large,
  );
}

// A number stands large, its unit beside it, as on a meter; words take lines of their own.
function drawMeter({ display, instrument, range }) {
  const [, number, unit] = /^([-−]?[\d.,]+|OL)(?:\s(\S+))?$/u.exec(display) ?? [];
  const shown =
    number === undefined
      ? h("span", { class: "cb-display cb-long" }, display)
      : h(
          "span",
          { class: "cb-display" },
          number,
          unit ? [" ", h("span", { class: "cb-display-unit" }, unit)] : null,
        );
  return h(
    "div",
    { class: "cb-meter" },
    shown,
    h(
      "span",
      { class: "cb-instrument" },
      instrument,
      range ? h("span", { class: "cb-range" }, say("range", { range })) : null,
    ),
  );
}

function drawReading(part) {
  const { title, how, picture, facts, remarks } = part;
  const [display, ...rest] = part.display.split("; ");
  return h(
    "div",
    { class: "cb-reading", role: "group", "aria-label": title, tabindex: "-1" },
    h("h5", {}, title),
    how ? h("p", { class: "cb-small" }, how) : null,
    picture && drawScreen(picture),
    h("span", { class: "cb-hidden" }, say("reading")),
    drawMeter({ ...part, display }),
    rest.map((text) => h("p", { class: "cb-besides" }, text)),
    h(
      "dl",
      {},
      facts.map(([what, told]) => [h("dt", {}, what), h("dd", {}, told)]),
    ),
    ...remarks.map(remark),
  );
}

// The roles keep it a table where a narrow page lays its rows out as a grid.
function tableOf(name, caption, columns, rows) {
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
    { class: name, role: "table" },
    caption,
    h("thead", { role: "rowgroup" }, h("tr", { role: "row" }, heads)),
    h("tbody", { role: "rowgroup" }, rows.map(row)),
  );
}

function drawTable({ caption, columns, rows, foot }) {
  return tableOf("cb-log", h("caption", {}, caption, " · ", foot), columns, rows);
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
    mark(STATE_MARKS[state]),
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

// A table of facts that nobody has to find something in by its rows.
function drawFacts({ columns, rows }) {
  return tableOf("cb-facts", null, columns, rows);
}

function drawPlaces({ places }) {
  const row = ({ label, note, text, is_open: isOpen }) => [
    h(
      "dt",
      { class: isOpen ? "cb-is-open" : false },
      label,
      h("span", { class: "cb-note" }, note),
    ),
    h("dd", {}, text),
  ];
  return h(
    "div",
    {},
    h("p", { class: "cb-small" }, say("once")),
    h("dl", { class: "cb-places" }, places.map(row)),
  );
}

const PARTS = {
  answer: drawAnswer,
  circuit: drawCircuit,
  details: drawDetails,
  facts: drawFacts,
  pair: drawPair,
  picture: drawScreen,
  places: drawPlaces,
  reading: drawReading,
  remarks: drawRemarks,
  table: drawTable,
  text: drawText,
};
