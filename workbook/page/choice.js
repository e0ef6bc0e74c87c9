// Choosing a test: the tests by place and instrument, each place unfolding by itself, and
// inside the chosen test what else is asked of it and the button.

function drawChoice(field, step) {
  const list = h("div", { class: "cb-tests", role: "group" });
  list.setAttribute("aria-label", field.label);
  const folds = field.groups.map((group) => drawPlace(group, field, step));
  list.append(...folds);
  list.addEventListener("change", ({ target }) => {
    if (target.dataset.field !== field.name) return;
    for (const other of list.querySelectorAll(`[data-field="${field.name}"]:checked`)) {
      // Each place has a group of radios of its own, so that the browser leaves one
      // checked in each.
      other.checked = other === target;
    }
    const [chosen] = field.groups
      .flatMap(({ kinds }) => kinds.flatMap(({ options }) => options))
      .filter(({ value }) => value === target.value);
    showChosen(chosen, field, step, target.closest(".cb-option"));
  });
  step.choose = (test) => {
    step.unfold();
    choose(list, folds, test);
  };
  const shared = field.shared.map((text) => h("p", { class: "cb-shared" }, text));
  return [shared, list, step.said];
}

function drawPlace({ label, note, kinds, is_open: isOpen }, field, step) {
  const options = kinds.map(({ label: instrument, options }) => [
    h("p", { class: "cb-kind" }, instrument),
    options.map((option) => drawTest(option, field, step, label)),
  ]);
  return h(
    "details",
    // Of details with one name the browser keeps one open.
    { class: "cb-place", name: `${step.id}-places`, open: isOpen },
    h(
      "summary",
      { "data-control": `place-${label}` },
      h("span", { class: "cb-label" }, label),
      h("span", { class: "cb-note" }, note),
    ),
    h("div", { role: "radiogroup", "aria-label": label }, options),
  );
}

// Each place is a group of its own: the first of one that is folded holds up no key.
function drawTest({ value, label, note }, field, step, place) {
  return h(
    "div",
    { class: "cb-option", "data-test": value },
    h(
      "label",
      {},
      radioInput(field.name, step, value, `${field.name}-${place}`),
      h("span", { class: "cb-label" }, label),
      h("span", { class: "cb-note" }, note),
    ),
  );
}

// The detail moves from test to test, and with it the button and what is said to it.
function showChosen(test, field, step, option) {
  const { before, detail, way, cautions, expected } = test;
  step.detail?.remove();
  const asked = { ...field.expected, options: expected };
  step.detail = h(
    "div",
    { class: "cb-detail" },
    h("p", {}, detail),
    h("p", {}, h("strong", {}, say("before")), before),
    way ? h("p", {}, way) : null,
    cautions.length ? drawCautions(cautions) : null,
    drawRadios(asked, step),
    step.actions,
    step.said,
  );
  step.said.replaceChildren();
  option.append(step.detail);
  step.page.showTest(test.value);
  option.scrollIntoView({ block: "nearest" });
}

function drawCautions(cautions) {
  return h(
    "div",
    { class: "cb-remark cb-caution" },
    mark(MARKS.caution),
    h(
      "ul",
      { "aria-label": say("caution") },
      cautions.map((text) => h("li", {}, text)),
    ),
  );
}

// Choose a test from elsewhere, such as the diagram.
function choose(list, folds, test) {
  const input = list.querySelector(`input[value="${CSS.escape(test)}"]`);
  for (const fold of folds) fold.open = fold.contains(input);
  input.checked = true;
  input.dispatchEvent(new Event("change", { bubbles: true }));
  input.focus({ preventScroll: true });
  input.closest(".cb-option").scrollIntoView({ block: "nearest" });
}
