// What stands beside the steps: the diagram, the sheet, the places, the log. Where there is
// no room beside them, each is a tap away over the step.

// Widths of an exercise from which on two and three columns have room [px].
const TWO_COLUMNS = 880;
const THREE_COLUMNS = 1260;

class Beside {
  constructor(page) {
    this.page = page;
    const circuit = page.model.get("circuit");
    this.diagram = circuit.svg ? new Diagram(page, circuit) : null;
    this.facts = h("div", {
      class: "cb-facts-column",
      tabindex: "0",
      role: "group",
      "aria-label": say("facts"),
    });
    this.tabs = h("div", { class: "cb-tabs", role: "group", "aria-label": say("look_up") });
    this.close_ = button(say("close"), () => this.close(), { class: "cb-close" });
    this.element = h("div", { class: "cb-beside" }, this.close_, this.facts);
    const looks = { class: "cb-go-on", hidden: true };
    this.goOn = button("", () => this.goOnMeasuring(), looks);
    if (this.diagram) {
      this.diagram.told.after(this.goOn);
      const panel = h(
        "section",
        { class: "cb-panel cb-diagram-column", "data-panel": "diagram" },
        this.diagram.element,
      );
      this.element.insertBefore(panel, this.facts);
    }
    this.element.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.isOver) this.close();
    });
  }

  draw(beside) {
    this.isEmpty = !beside.panels?.length;
    this.element.hidden = this.isEmpty;
    if (this.isEmpty) return;
    this.diagram?.draw(beside);
    this.drawPanels(beside.panels);
    this.drawTabs(beside.panels);
  }

  // Panels that have not changed keep their element, and how far it is scrolled.
  drawPanels(panels) {
    this.panels ??= new Map();
    for (const panel of panels) {
      const description = JSON.stringify(panel);
      const known = this.panels.get(panel.key);
      if (known?.description === description) continue;
      const element = drawPanel(panel, known?.element.querySelector("details")?.open);
      if (known) known.element.replaceWith(element);
      else this.facts.append(element);
      this.panels.set(panel.key, { description, element });
    }
  }

  drawTabs(panels) {
    const own = this.diagram ? [{ key: "diagram", tab: say("diagram") }] : [];
    const tabs = [...own, ...panels].filter(({ tab }) => tab);
    if (this.tabs.childElementCount === tabs.length) return;
    this.tabs.replaceChildren(
      ...tabs.map(({ key, tab }) => {
        const state = { "aria-expanded": "false", "data-panel": key };
        return button(tab, () => this.toggle(key), state);
      }),
    );
  }

  showTest(test) {
    this.diagram?.showTest(test);
  }

  showSetUp(signs) {
    this.diagram?.showSigns(signs);
  }

  // From the diagram over the step to what is asked next: what to expect, where a set-up
  // is whole, or else what is to be chosen.
  drawGoOn(text, isReady = false) {
    this.goOn.hidden = !text;
    this.goOn.textContent = text;
    this.goOn.classList.toggle("cb-primary", isReady);
  }

  goOnMeasuring() {
    this.close();
    const { next } = this.page.bench;
    next.focus({ preventScroll: true });
    next.closest("fieldset").scrollIntoView({ block: "center" });
  }

  // ---- over the step -----------------------------------------------------------

  get isOver() {
    return Boolean(this.page.root.dataset.open);
  }

  get isOneColumn() {
    return this.page.root.dataset.columns === "1";
  }

  // Takes the room that there is: one, two or three columns.
  fit(width) {
    const columns = width >= THREE_COLUMNS ? 3 : width >= TWO_COLUMNS ? 2 : 1;
    const { root } = this.page;
    if (root.dataset.columns === `${columns}`) return;
    root.dataset.columns = columns;
    this.close();
    // Above all else, whatever the page around it is laid out like.
    if (columns === 1 && !this.isEmpty) this.element.setAttribute("popover", "manual");
    else this.element.removeAttribute("popover");
  }

  toggle(key) {
    const isSame = this.page.root.dataset.open === key;
    this.close();
    if (isSame) return;
    this.page.root.dataset.open = key;
    this.element.showPopover?.();
    this.tab(key).setAttribute("aria-expanded", "true");
    this.close_.focus({ preventScroll: true });
  }

  close() {
    const { root } = this.page;
    const key = root?.dataset.open;
    if (!key) return;
    delete root.dataset.open;
    this.element.hidePopover?.();
    this.tab(key).setAttribute("aria-expanded", "false");
    this.tab(key).focus({ preventScroll: true });
  }

  tab(key) {
    return this.tabs.querySelector(`[data-panel="${key}"]`);
  }
}

// The circuit in words is for who does not see the diagram: it stays folded for others.
function drawPanel({ key, title, parts }, isOpen = false) {
  const heading = h("h4", {}, title);
  const drawn = parts.map((part) => PARTS[part.kind](part));
  const body =
    key === "words"
      ? h("details", { open: isOpen }, h("summary", {}, heading), drawn)
      : [heading, drawn];
  return h("section", { class: "cb-panel", "data-panel": key }, body);
}
