// Setting up and measuring: how all stands at the vehicle, and where the instrument goes.
// The menus and the diagram change the same set-up; the kernel says what it takes, and
// what can be expected of it.

class Bench {
  constructor(field, step) {
    this.field = field;
    this.step = step;
    this.item = h("input", { type: "hidden", name: field.name });
    this.menus = field.menus.map((menu) => this.drawMenu(menu));
    this.instruments = this.menus.find(({ menu }) => menu.name === "instrument").element;
    this.told = h("div", { class: "cb-set-up", "aria-live": "polite" });
    this.asked = h("div", {});
    const rows = field.rows.map(({ key, label }) => this.drawRow(key, label));
    this.element = h(
      "div",
      { class: "cb-bench" },
      rows,
      this.item,
      this.told,
      this.asked,
      step.actions,
      step.said,
    );
    this.told.append(field.hint);
    this.take(field.state);
    this.element.addEventListener("change", ({ target }) => {
      if (target.closest("[data-menu]")) this.changed();
    });
  }

  drawRow(key, label) {
    const own = this.menus.filter(({ menu }) => menu.row === key);
    return h(
      "fieldset",
      { class: "cb-bench-row", "data-row": key },
      h("legend", {}, label),
      h("div", { class: "cb-menus" }, own.map(({ element }) => element)),
    );
  }

  drawMenu(menu) {
    const draw = menu.kind === "radios" ? drawRadios : drawSelect;
    const element = draw(menu, this.step);
    element.dataset.menu = menu.name;
    element.classList.toggle("cb-wide", Boolean(menu.is_wide));
    return { menu, element };
  }

  // ---- the set-up --------------------------------------------------------------------

  get setUp() {
    // Several menus have one name, as the plus of each instrument: only the shown one
    // counts.
    const shown = this.menus.filter(({ element }) => !element.hidden);
    return Object.fromEntries(
      shown.map(({ menu, element }) => [menu.name, valueIn(element)]),
    );
  }

  // Sets menus to values, without asking what comes of it.
  take(values) {
    for (const { menu, element } of this.menus) {
      if (!(menu.name in values)) continue;
      const value = values[menu.name];
      const radio = element.querySelector(`input[value="${CSS.escape(value)}"]`);
      const option = element.querySelector(`option[value="${CSS.escape(value)}"]`);
      if (radio) radio.checked = true;
      if (option) option.selected = true;
    }
    this.fit();
  }

  // Only what the instrument has is asked.
  fit() {
    const instrument = valueIn(this.instruments);
    for (const { menu, element } of this.menus) {
      element.hidden = Boolean(menu.of) && !menu.of.includes(instrument);
      // The first option of a part is how it usually stands.
      const isChanged = menu.row === "vehicle" && element.querySelector("select")?.selectedIndex;
      element.classList.toggle("cb-changed", Boolean(isChanged));
    }
  }

  // From the diagram: a part was switched or pulled there, a lead or the clamp put there.
  move({ sets, instruments }) {
    this.step.unfold();
    const isFitting = !instruments.length || instruments.includes(valueIn(this.instruments));
    this.take(isFitting ? sets : { ...sets, instrument: instruments[0] });
    this.isPointedAt = true;
    this.changed();
  }

  // Whether all stands as a move would put it.
  isSo({ sets, instruments }) {
    const { setUp } = this;
    const isFitting = !instruments.length || instruments.includes(setUp.instrument);
    return isFitting && Object.entries(sets).every(([name, value]) => setUp[name] === value);
  }

  // What was set up before the form was drawn anew stays.
  carried() {
    this.fit();
    const { setUp } = this;
    const { state } = this.field;
    if (Object.keys(setUp).some((name) => setUp[name] !== (state[name] ?? ""))) {
      this.changed();
    }
  }

  changed() {
    this.fit();
    // Nothing can be recorded until the kernel has said what this set-up is called.
    this.item.value = "";
    this.step.said.replaceChildren();
    this.step.page.beside.drawGoOn("");
    this.show();
    this.ask();
  }

  // ---- what comes of it --------------------------------------------------------------

  show() {
    const { signs } = this.field;
    const { setUp } = this;
    const put = Object.entries(setUp).flatMap(([name, value]) => {
      const key = `${name}=${value}`;
      return signs[`${setUp.instrument} ${key}`] ?? signs[key] ?? [];
    });
    this.step.page.showSetUp(put);
  }

  ask() {
    const { step } = this;
    const asked = JSON.stringify(this.setUp);
    step.page.post.send(
      { action: "measure", set_up: this.setUp },
      {
        lost: () => step.tell("wrong", lostText()),
        reply: (content) => {
          // An answer to what has been changed since tells nothing.
          if (asked === JSON.stringify(this.setUp)) this.tell(content);
        },
      },
    );
  }

  tell({ status, text, item, title, minutes, cautions, expected }) {
    const isReady = status === "set-up";
    this.item.value = isReady ? item : "";
    this.told.replaceChildren(
      ...(isReady ? [h("strong", {}, title), h("span", {}, minutes)] : [text]),
    );
    const asked = { ...this.field.expected, options: expected };
    this.asked.replaceChildren(
      ...(isReady ? [drawFoldedCautions(cautions), drawRadios(asked, this.step)] : []),
    );
    this.step.page.beside.drawGoOn(isReady ? say("go_on_measuring") : text, isReady);
    // Who points at the diagram sees what comes of it.
    if (this.isPointedAt) this.step.actions.scrollIntoView({ block: "nearest" });
    this.isPointedAt = false;
  }

  // What is next: the expectation, where the set-up is whole, or else the menu in which
  // nothing is chosen yet.
  get next() {
    const shown = this.menus.filter(({ element }) => !element.hidden);
    const open = shown.find(({ menu, element }) => !menu.is_set && !valueIn(element));
    return (
      this.asked.querySelector("input") ??
      open?.element.querySelector("select") ??
      this.instruments.querySelector("input:checked")
    );
  }
}

// They are read once: the set-up itself needs the room.
function drawFoldedCautions(cautions) {
  const count = cautions.length;
  if (!count) return "";
  const summary = h("summary", {}, `${MARKS.caution} ${say("cautions", { count })}`);
  return h("details", { class: "cb-cautions" }, summary, drawCautions(cautions));
}

function valueIn(element) {
  return element.querySelector("input:checked, select")?.value ?? "";
}

function drawBench(field, step) {
  step.bench = new Bench(field, step);
  return [step.bench.element];
}
