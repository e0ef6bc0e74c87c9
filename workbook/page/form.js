// Draws the view that the kernel describes (workbook/views/view.py) and sends what is done.
// It knows forms, answers, readings, tables; it knows nothing of circuits.

class Page {
  constructor(model, el) {
    this.model = model;
    this.post = new Post(model);
    this.id = this.post.id;
    this.parts = new Map();
    this.sections = new Map();
    this.status = h("p", { class: "cb-status", role: "status", "aria-live": "polite" });
    this.count = h("span", { class: "cb-count" });
    this.title = h("h3", {});
    this.notices = h("div", {});
    this.complaint = h("p", { class: "cb-complaint" });
    this.beside = new Beside(this);
    this.way = new Way(this);
    this.own = new Own(this);
    this.body = h("div", {});
    this.steps = h(
      "div",
      { class: "cb-steps" },
      this.notices,
      this.complaint,
      this.body,
      this.way.onward,
      this.own.element,
    );
    this.handIn = this.drawHandInRow();
    this.roomLine = h("p", { class: "cb-room", hidden: true });
    this.foot = h(
      "footer",
      { class: "cb-foot" },
      this.status,
      this.roomLine,
      this.beside.tabs,
    );
    // A click on plain text focuses the root, which keeps keys from being commands.
    this.root = h(
      "section",
      // Where most of a set are out of view, they are not laid out first.
      { class: "cb-root cb-unplaced", tabindex: "-1" },
      h("header", { class: "cb-head" }, this.title, this.way.element),
      h("div", { class: "cb-desk" }, this.beside.element, this.steps),
      this.foot,
    );
    el.append(this.root);
    this.draw();
    this.drawHandIn();
    this.own.draw();
    // Where it stands is known once it has a size there.
    this.observer = new ResizeObserver(() => {
      if (!this.way.isPlaced) this.way.place();
      this.fit();
    });
    this.observer.observe(el);
    this.observer.observe(this.foot);
    this.post.copyLines();
    this.room = roomOf(this);
  }

  // Takes the width that there is, and as much height as can be seen of it.
  fit() {
    const { root, foot } = this;
    const width = root.clientWidth;
    // One that is hidden has no width; it is fitted when it comes into view.
    if (!width) return;
    const scroller = this.way.scroller ?? document.documentElement;
    // All is measured before anything is set, so that it is laid out once.
    const heights = {
      window: scroller.clientHeight,
      top: root.firstElementChild.offsetHeight,
      bottom: foot.offsetHeight,
    };
    for (const [name, height] of Object.entries(heights)) {
      root.style.setProperty(`--cb-${name}`, `${height}px`);
    }
    this.beside.fit(width);
    // Where room is short, it comes after the steps and does not stay in view.
    const row = this.beside.isOneColumn ? this.steps : this.foot;
    if (this.handIn.parentElement !== row) row.append(this.handIn);
  }

  leave() {
    this.observer.disconnect();
    this.way.leave();
    this.room?.leave(this);
  }

  drawHandInRow() {
    const handIn = () => this.post.handIn((...told) => this.tellAll(...told));
    return h(
      "div",
      { class: "cb-hand-in" },
      button(say("hand_in"), handIn),
      this.count,
    );
  }

  // ---- what is said --------------------------------------------------------

  // Sounds for who does not see the page what it shows of the step just recorded.
  resultText() {
    const [part] = this.news;
    const told = part?.querySelectorAll(
      ".cb-display, .cb-instrument, .cb-remark strong, .cb-remarks .cb-remark:last-child",
    );
    const texts = [...(told ?? [])].map((each) => each.textContent);
    const isReading = part?.matches(".cb-reading");
    return [isReading ? say("reading") : "", ...texts].join(" ");
  }

  tellAll(tone, text, unseen = "") {
    this.status.className = `cb-status cb-${tone}`;
    this.status.replaceChildren(
      mark(MARKS[tone]),
      h("span", {}, text, h("span", { class: "cb-hidden" }, ` ${unseen}`)),
    );
  }

  drawHandIn() {
    const { name, recorded: count, not_handed_in: open } = this.model.get("hand_in");
    this.foot.hidden = this.handIn.hidden = !name;
    const state = open ? "not_handed_in" : "all_handed_in";
    this.count.textContent = say(count ? state : "nothing", { count, open });
  }

  // ---- drawing -------------------------------------------------------------

  draw() {
    const view = this.model.get("view");
    const place = this.focusPlace();
    this.news = []; // what this drawing shows that was not there before
    this.root.lang = view.language;
    this.root.setAttribute("aria-label", `${view.label} ${view.title}`.trim());
    this.title.replaceChildren(
      h("span", { class: "cb-number" }, view.title ? `${view.label} · ` : view.label),
      view.title,
    );
    this.notices.replaceChildren(...view.notices.map(remark));
    this.complaint.replaceChildren(
      ...(view.complaint ? [h("strong", {}, say("complaint")), ` ${view.complaint}`] : []),
    );
    for (const section of view.sections) this.drawSection(section);
    const keys = new Set(view.sections.map((section) => section.key));
    for (const [key, { element }] of this.sections) element.hidden = !keys.has(key);
    this.beside.draw(view.beside);
    if (this.isSettingUp) this.bench.show();
    this.way.draw();
    this.restoreFocus(place);
  }

  drawSection(section) {
    let known = this.sections.get(section.key);
    if (!known) {
      const id = `${this.id}-${section.key}-title`;
      const title = h("h4", { id });
      const list = h("div");
      const fold = h("details", { open: true }, h("summary", {}, title), list);
      const element = h(
        "div",
        { role: "group", "aria-labelledby": id, tabindex: "-1" },
        fold,
      );
      known = { title, list, fold, element };
      this.sections.set(section.key, known);
      this.body.append(element);
    }
    const { element, title, list, fold } = known;
    element.className = `cb-section cb-${section.state}`;
    element.dataset.section = section.key;
    const state = { done: `✓ ${say("done")}`, now: "", later: say("later") }[section.state];
    title.replaceChildren(section.title, " ", h("span", { class: "cb-state" }, state));
    const wanted = section.parts.map((part) => this.part(section.key, part));
    for (const old of [...list.children]) if (!wanted.includes(old)) old.remove();
    wanted.forEach((each, place) => {
      if (list.children[place] !== each) list.insertBefore(each, list.children[place]);
    });
    // What a student has unfolded stays so: it folds by itself once.
    if (section.is_folded !== known.isFolded) fold.open = !section.is_folded;
    known.isFolded = section.is_folded;
  }

  // The element of a part: the one on the page if its description is unchanged.
  part(section, part) {
    const key = `${section}/${part.key}`;
    const description = JSON.stringify(part);
    const known = this.parts.get(key);
    if (known?.description === description) return known.element;
    const form = part.kind === "form" ? new StepForm(this, part) : null;
    const element = form?.element ?? PARTS[part.kind](part);
    element.dataset.part = key;
    if (!form) this.news.push(element);
    else if (form.bench) this.bench = form.bench;
    else if (part.action === "test") this.choice = form;
    if (known) carryDrafts(known.element, element);
    if (known) form?.bench?.carried();
    this.parts.set(key, { description, element });
    return element;
  }

  // ---- the test that is chosen ----------------------------------------------

  // Shows on the diagram how a test is done.
  showTest(test) {
    this.beside.showTest(test);
  }

  // Shows on the diagram how all stands, and where the instrument is.
  showSetUp(signs) {
    this.beside.showSetUp(signs);
  }

  get isSettingUp() {
    return Boolean(this.bench?.element.isConnected && this.bench.step.isUnfolded);
  }

  // Chooses a test that was pointed at on the diagram.
  chooseTest(test) {
    this.beside.close();
    this.choice.choose(test);
  }

  // ---- the focus -------------------------------------------------------------

  focusPlace() {
    const active = this.root.getRootNode().activeElement;
    if (!active || !this.root.contains(active)) return null;
    return {
      active,
      section: active.closest("[data-section]")?.dataset.section,
      part: active.closest("[data-part]")?.dataset.part,
      control: active.dataset.control,
    };
  }

  // Keep the focus where the student is, or on what came of the step that was done.
  restoreFocus(place) {
    if (!place || place.active.isConnected) return;
    const part = this.parts.get(place.part)?.element;
    const section = this.sections.get(place.section)?.element;
    const news = this.news.find((each) => each.closest("[data-section]") === section);
    const same = part?.isConnected
      ? (part.querySelector(`[data-control="${CSS.escape(place.control ?? "")}"]`) ?? part)
      : null;
    const isDone = place.control === "submit";
    const target = (isDone && news) || same || news || section || this.root;
    if (!target.hasAttribute("tabindex") && !FOCUSABLE.has(target.tagName)) {
      target.setAttribute("tabindex", "-1");
      target.setAttribute("data-lm-suppress-shortcuts", "true");
    }
    target.focus({ preventScroll: true });
    // What is new stands at the top, with what is asked next below it.
    target.scrollIntoView({ block: target === news ? "start" : "nearest" });
  }
}

// Where the script of a form takes over 2 s to load, as on a slow computer that opens many
// at once, anywidget lets no message of the kernel through to it any more. It is heard all
// the same by what anywidget stands on.
function hearAlways(model) {
  const met = function () {
    const own = this?.model;
    const base = own && Object.getPrototypeOf(Object.getPrototypeOf(own));
    if (base?._handle_comm_msg) own.comm?.on_msg((msg) => base._handle_comm_msg.call(own, msg));
  };
  model.on("change:heard", met);
  model.set("heard", true);
  model.off("change:heard", met);
}

function render({ model, el }) {
  texts = model.get("texts");
  hearAlways(model);
  const page = new Page(model, el);
  const heard = {
    "change:view": () => page.draw(),
    "change:hand_in": () => page.drawHandIn(),
    "change:book": () => page.way.draw(),
    "change:own": () => page.own.draw(),
    "msg:custom": (content, buffers) => page.post.receive(content, buffers),
  };
  for (const [name, hear] of Object.entries(heard)) model.on(name, hear);
  return () => {
    for (const [name, hear] of Object.entries(heard)) model.off(name, hear);
    page.leave();
  };
}

export default { render };
