// The way through a set: a list of all exercises, the one before and the next one. In the
// page of a workbook (page.js of our extension) one exercise is in view at a time; where
// there is no such page, each stands where its cell is.

// All exercises of a page know which one is in view; 0 is the beginning of the workbook.
const view = (globalThis[Symbol.for("clampbook.view")] ??= {
  current: undefined,
  pages: new Set(),
});

function show(number) {
  view.current = number;
  for (const page of view.pages) page.way.place();
}

class Way {
  constructor(page) {
    this.page = page;
    this.list = h("div", { class: "cb-list-of-all", hidden: true });
    const folded = { "aria-expanded": "false" };
    this.listButton = button("", () => this.toggle(this.list.hidden), folded);
    this.before = this.arrow("‹", "previous", -1);
    this.next = this.arrow("›", "next", 1);
    this.element = h(
      "nav",
      { class: "cb-way", "aria-label": say("exercises") },
      this.before,
      this.listButton,
      this.next,
      this.list,
    );
    this.onward = h("div", { class: "cb-onward" });
    view.pages.add(page);
    this.element.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || this.list.hidden) return;
      this.toggle(false);
      this.listButton.focus();
    });
    this.element.addEventListener("focusout", ({ relatedTarget }) => {
      if (!this.element.contains(relatedTarget)) this.toggle(false);
    });
  }

  get book() {
    return this.page.model.get("book");
  }

  get number() {
    return this.page.model.get("view").number;
  }

  arrow(sign, name, step) {
    return button(sign, () => this.go(step), { "aria-label": say(name) });
  }

  go(step) {
    const numbers = [0, ...this.book.exercises.map(({ number }) => number)];
    this.open(numbers[numbers.indexOf(view.current) + step]);
  }

  // Shows an exercise, and says so to who cannot see it.
  open(number) {
    this.toggle(false);
    show(number);
    for (const page of view.pages) {
      if (page.way.isShown) page.root.focus({ preventScroll: true });
    }
    this.scroller?.scrollTo({ top: 0 });
  }

  toggle(isOpen) {
    this.list.hidden = !isOpen;
    this.listButton.setAttribute("aria-expanded", isOpen);
  }

  // ---- drawing -------------------------------------------------------------------

  draw() {
    // One that is away is drawn when it comes into view.
    if (this.isPlaced && !this.isShown) return;
    const { exercises, end, left } = this.book;
    this.element.hidden = !exercises;
    if (!exercises) return;
    const at = exercises.findIndex(({ number }) => number === this.number);
    const count = exercises.length;
    this.listButton.textContent = this.isCover
      ? say("begin_list", { count })
      : say("of_all", { number: at + 1, count });
    this.next.disabled = this.isLast && !this.isCover;
    this.drawOnward(exercises[at]);
    const entries = [
      { number: 0, label: say("beginning"), title: "", state_text: "", open: "" },
      ...exercises,
    ];
    this.list.replaceChildren(
      h(
        "ol",
        { role: "list" },
        entries.map((each) => h("li", {}, this.entry(each))),
      ),
      h("p", { class: `cb-end ${left.length ? "" : "cb-all-done"}` }, end),
    );
  }

  // At the end of an exercise: what is still open, and the next one.
  drawOnward({ state }) {
    const { end, left } = this.book;
    const isDone = state === "done" && !this.isCover;
    const next = button(say("next"), () => this.go(1), { class: "cb-primary" });
    this.onward.replaceChildren(
      ...(isDone ? [h("p", {}, end), this.isLast ? null : next].filter(Boolean) : []),
      ...(this.isCover ? [this.beginButton(left)] : []),
    );
  }

  beginButton(left) {
    const number = this.book.last || left[0] || 1;
    const name = this.book.last ? "go_on" : "begin";
    const main = { class: "cb-primary" };
    return button(say(name, { number }), () => this.open(number), main);
  }

  entry({ number, label, title, state, state_text: stateText, open }) {
    const text = h(
      "span",
      { class: "cb-label" },
      label,
      title ? ` · ${title}` : "",
      h("span", { class: "cb-note" }, [stateText, open].filter(Boolean).join(", ")),
    );
    return button([mark({ done: "✓", begun: "…" }[state]), text], () => this.open(number), {
      class: `cb-entry cb-entry-${state}`,
      "aria-current": number === view.current ? "page" : false,
    });
  }

  get isLast() {
    return this.number === this.book.exercises?.at(-1)?.number;
  }

  // ---- one in view at a time -----------------------------------------------------

  get notebook() {
    return this.page.root.closest(".clampbook-book");
  }

  get scroller() {
    return this.page.root.closest(".jp-WindowedPanel-outer");
  }

  get isShown() {
    return !this.page.root.closest(".clampbook-away");
  }

  // The beginning shows no exercise, but the first one's list of all.
  get isCover() {
    return Boolean(this.notebook) && view.current === 0;
  }

  place() {
    const { notebook } = this;
    this.page.root.classList.remove("cb-unplaced");
    if (!notebook || !this.book.exercises) return;
    this.isPlaced = true;
    view.current ??= this.book.last;
    notebook.dataset.clampbookAt = view.current || "beginning";
    const isFirst = this.number === this.book.exercises[0].number;
    const isShown = view.current === this.number || (this.isCover && isFirst);
    const cell = this.page.root.closest(".jp-Cell");
    cell.classList.toggle("clampbook-away", !isShown);
    this.page.root.classList.toggle("cb-cover", this.isCover && isFirst);
    this.draw();
    if (isShown) this.page.fit();
  }

  leave() {
    view.pages.delete(this.page);
  }
}
