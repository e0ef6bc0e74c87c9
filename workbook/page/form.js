// Draws the view that the kernel describes (workbook/views/view.py) and sends what is done.
// It knows forms, answers, readings, tables; it knows nothing of circuits. The text of
// form_parts.js stands before this one.

const RECORD_MS = 4000; // no reply by then: say NOT recorded
const ECHO_MS = 250; // rest after the last key before a number is echoed
const ECHO_REPLY_MS = 15000; // the first number of a session loads the unit library

// Every form of the page shares one copy of the journal lines that were acknowledged,
// so that a hand-in can be made when the kernel is gone.
const copies = (globalThis[Symbol.for("clampbook.copies")] ??= new Map());
let drawn = 0;

// Every exercise runs a script of its own, and pages in several tabs can share one
// kernel, whose replies then reach them all: nothing else tells them apart.
const OWN = Math.random().toString(36).slice(2);

// What the page's own frame, where there is one, knows about this browser, in the
// student's language.
const NOT_KEPT = Symbol.for("clampbook.not-kept");

function lostText() {
  const hasMenu = !document.body.classList.contains("clampbook-alone");
  return say(hasMenu ? "lost_restart" : "lost_reload");
}

function recordedText(time) {
  const reason = globalThis[NOT_KEPT];
  if (!reason) return ["right", say("recorded", { time: clock(time) })];
  return ["wrong", say("not_kept", { time: clock(time), reason })];
}

function download(name, parts) {
  const url = URL.createObjectURL(new Blob(parts, { type: "application/x-ndjson" }));
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

class Page {
  constructor(model, el) {
    this.model = model;
    this.id = `cb-${OWN}-${(drawn += 1)}`;
    this.requests = 0;
    this.isSilent = false; // the last request got no reply in time
    this.waiting = new Map();
    this.parts = new Map();
    this.sections = new Map();
    this.status = h("p", { class: "cb-status", role: "status", "aria-live": "polite" });
    this.count = h("span", { class: "cb-count" });
    this.head = h("header", { class: "cb-head" });
    this.body = h("div", {});
    this.foot = h(
      "footer",
      { class: "cb-foot" },
      this.status,
      h(
        "div",
        { class: "cb-hand-in" },
        h(
          "button",
          { type: "button", onclick: () => this.handIn() },
          say("hand_in"),
        ),
        this.count,
      ),
    );
    // A click on plain text focuses the root, which keeps keys from being commands.
    this.root = h(
      "section",
      { class: "cb-root", tabindex: "-1" },
      this.head,
      this.body,
      this.foot,
    );
    el.append(this.root);
    this.draw();
    this.drawHandIn();
    this.copyLines();
  }

  // ---- messages ------------------------------------------------------------

  send(message, { wait = RECORD_MS, reply, lost }) {
    const id = `${this.id}-${(this.requests += 1)}`;
    const entry = { reply };
    entry.timer = setTimeout(() => {
      entry.isLate = true;
      this.isSilent = true;
      lost();
    }, wait);
    this.waiting.set(id, entry);
    try {
      this.model.send({ id, ...message });
    } catch {
      clearTimeout(entry.timer);
      this.waiting.delete(id);
      this.isSilent = true;
      lost();
    }
  }

  receive(content, buffers) {
    if (content.tail) this.keep(content.tail);
    const entry = this.waiting.get(content.id);
    if (!entry) return;
    clearTimeout(entry.timer);
    this.waiting.delete(content.id);
    this.isSilent = false;
    entry.reply(content, buffers, entry.isLate);
  }

  // ---- the page's own copy of the journals ---------------------------------

  get copy() {
    const name = this.model.get("hand_in").name;
    if (!copies.has(name)) copies.set(name, { files: new Map() });
    return copies.get(name);
  }

  copyLines() {
    if (!this.model.get("hand_in").name) return;
    this.send(
      { action: "lines" },
      {
        lost: () => {},
        reply: ({ files }) => {
          for (const [file, lines] of Object.entries(files ?? {})) {
            this.keep({ file, at: 0, lines });
          }
        },
      },
    );
  }

  keep({ file, at, lines }) {
    const kept = this.copy.files.get(file) ?? [];
    lines.forEach((line, place) => {
      kept[at + place] = line;
    });
    this.copy.files.set(file, kept);
  }

  handIn() {
    if (this.isSilent) {
      this.handInFromCopy();
      return;
    }
    const { name } = this.model.get("hand_in");
    this.tellAll("news", say("making"));
    this.send(
      { action: "hand-in" },
      {
        reply: (content, buffers, isLate) => {
          if (content.status !== "hand-in") {
            this.tellAll("wrong", content.text);
            return;
          }
          if (isLate) return; // made from the page's own copy already
          download(name, buffers);
          const count = content.recorded;
          this.tellAll("right", say("downloaded", { file: name, count }));
        },
        lost: () => this.handInFromCopy(),
      },
    );
  }

  handInFromCopy() {
    const { name, header } = this.model.get("hand_in");
    const files = [...this.copy.files.entries()].sort(([a], [b]) => (a < b ? -1 : 1));
    const lines = files.flatMap(([, kept]) => kept.filter(Boolean));
    download(name, [[header, ...lines].map((line) => `${line}\n`).join("")]);
    const count = lines.length - files.length;
    this.tellAll("caution", say("from_copy", { file: name, count }));
  }

  // ---- what is said --------------------------------------------------------

  // Sounds for who does not see the page what it shows of the step just recorded.
  resultText() {
    const [part] = this.news;
    const told = part?.querySelectorAll(
      ".cb-meter, .cb-remark strong, .cb-remarks .cb-remark:last-child",
    );
    return [...(told ?? [])].map((each) => each.textContent).join(" ");
  }

  tellAll(tone, text, unseen = "") {
    this.status.className = `cb-status cb-${tone}`;
    this.status.replaceChildren(
      h("span", { class: "cb-mark", "aria-hidden": "true" }, MARKS[tone] ?? ""),
      h("span", {}, text, h("span", { class: "cb-hidden" }, ` ${unseen}`)),
    );
  }

  drawHandIn() {
    const { name, recorded: count, not_handed_in: open } = this.model.get("hand_in");
    this.foot.hidden = !name;
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
    this.head.replaceChildren(
      h(
        "h3",
        {},
        h("span", { class: "cb-number" }, view.title ? `${view.label} · ` : view.label),
        view.title,
      ),
      ...view.notices.map(remark),
    );
    for (const section of view.sections) this.drawSection(section);
    const keys = new Set(view.sections.map((section) => section.key));
    for (const [key, { element }] of this.sections) element.hidden = !keys.has(key);
    this.restoreFocus(place);
  }

  drawSection(section) {
    let known = this.sections.get(section.key);
    if (!known) {
      const id = `${this.id}-${section.key}-title`;
      known = { title: h("h4", { id }), list: h("div") };
      known.element = h(
        "div",
        { role: "group", "aria-labelledby": id, tabindex: "-1" },
        known.title,
        known.list,
      );
      this.sections.set(section.key, known);
      this.body.append(known.element);
    }
    const { element, title, list } = known;
    element.className = `cb-section cb-${section.state}`;
    element.dataset.section = section.key;
    const state = { done: `✓ ${say("done")}`, now: "", later: say("later") }[section.state];
    title.replaceChildren(section.title, " ", h("span", { class: "cb-state" }, state));
    const wanted = section.parts.map((part) => this.part(section.key, part));
    for (const old of [...list.children]) if (!wanted.includes(old)) old.remove();
    wanted.forEach((each, place) => {
      if (list.children[place] !== each) list.insertBefore(each, list.children[place]);
    });
  }

  // The element of a part: the one on the page if its description is unchanged.
  part(section, part) {
    const key = `${section}/${part.key}`;
    const description = JSON.stringify(part);
    const known = this.parts.get(key);
    if (known?.description === description) return known.element;
    const element = PARTS[part.kind]?.(part) ?? this.drawForm(part);
    element.dataset.part = key;
    if (part.kind !== "form") this.news.push(element);
    if (known) carryDrafts(known.element, element);
    this.parts.set(key, { description, element });
    return element;
  }

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
    target.scrollIntoView({ block: "nearest" });
  }

  // ---- forms ---------------------------------------------------------------

  drawForm(part) {
    const help = `${this.id}-${part.key}-help`;
    const said = h("div", { class: "cb-said" });
    const button = h("button", { "data-control": "submit" }, part.submit);
    button.className = part.is_minor ? "" : "cb-primary";
    const form = h(
      "form",
      { class: "cb-form", novalidate: true },
      h(
        "fieldset",
        { "aria-describedby": part.help ? help : false },
        h("legend", {}, part.legend),
        part.help ? h("p", { class: "cb-help", id: help }, part.help) : null,
        drawChecklist(part.checklist),
      ),
    );
    form.cb = { part, said, button, isPending: false };
    const fieldset = form.firstElementChild;
    for (const field of part.fields) {
      fieldset.append(this.drawField(field, part, form));
    }
    fieldset.append(h("div", { class: "cb-actions" }, button), said);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.submit(form);
    });
    // In JupyterLab, Enter does not reach the form by itself.
    form.addEventListener("keydown", (event) => {
      const isPlain = !(event.shiftKey || event.ctrlKey || event.altKey || event.metaKey);
      if (event.key === "Enter" && event.target.tagName === "INPUT" && isPlain) {
        event.preventDefault();
        form.requestSubmit();
      }
    });
    return form;
  }

  drawField(field, part, form) {
    if (field.kind === "number") return this.drawNumber(field, part, form);
    if (field.kind === "select") return this.drawSelect(field, part);
    if (field.kind === "text") return this.drawLines(field, part);
    return this.drawRadios(field, part, form);
  }

  drawNumber({ name, label, units, hint }, part, form) {
    const id = `${this.id}-${part.key}-${name}`;
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
      maxlength: "60",
      autocomplete: "off",
      autocapitalize: "off",
      spellcheck: "false",
      "aria-describedby": `${id}-echo`,
      "data-control": name,
    });
    form.cb.echo = () => this.askEcho(form, input, echo);
    input.addEventListener("input", () => {
      clearTimeout(form.cb.echoTimer);
      rest();
      form.cb.said.replaceChildren();
      if (input.value.trim()) form.cb.echoTimer = setTimeout(form.cb.echo, ECHO_MS);
    });
    const unitKeys = units.map((unit) =>
      h(
        "button",
        {
          type: "button",
          class: "cb-unit",
          "aria-label": say("unit", { unit }),
          "data-control": `unit-${unit}`,
          onclick: () => {
            const number = input.value.replace(/\s*[A-Za-zµμΩ]*\s*$/u, "");
            this.fill(input, `${number} ${unit}`);
          },
        },
        unit,
      ),
    );
    return h(
      "div",
      { class: "cb-number-field" },
      h("label", { for: id }, label),
      h("div", { class: "cb-row" }, input, unitKeys),
      echo,
    );
  }

  fill(input, text) {
    input.value = text;
    input.focus();
    input.dispatchEvent(new Event("input"));
  }

  askEcho(form, input, echo) {
    const raw = input.value;
    const { action, item } = form.cb.part;
    this.send(
      { action: "echo", item, raw, for: action },
      {
        wait: ECHO_REPLY_MS,
        lost: () => this.tell(form, "wrong", lostText()),
        reply: (content) => {
          if (input.value === raw) this.showEcho(form, input, echo, content);
        },
      },
    );
  }

  showEcho(form, input, echo, { text, is_readable: isReadable, readings }) {
    echo.className = `cb-echo cb-${isReadable ? "right" : "caution"}`;
    const choices = (readings ?? []).map((reading) =>
      h(
        "button",
        { type: "button", onclick: () => this.fill(input, reading) },
        reading,
      ),
    );
    echo.replaceChildren(
      h("span", { class: "cb-mark", "aria-hidden": "true" }, isReadable ? "→" : "?"),
      h("span", {}, text, ...choices),
    );
    this.tellAll(isReadable ? "news" : "caution", text);
  }

  drawRadios(field, part, form) {
    const group = h(
      "fieldset",
      { class: radiosClass(field) },
      h("legend", {}, field.label),
    );
    const options = h("div", { class: "cb-options" });
    group.append(options);
    const fill = (list) => {
      options.replaceChildren(...list.map((each) => this.radio(field, part, each)));
    };
    if (!field.follows) {
      fill(field.options);
      return group;
    }
    options.append(h("p", { class: "cb-help" }, field.until));
    form.addEventListener("change", (event) => {
      if (event.target.name !== `${this.id}-${part.key}-${field.follows}`) return;
      fill(field.options_of[event.target.value]);
    });
    return group;
  }

  radio(field, part, { value, label, note, detail, before, cautions }) {
    const name = `${this.id}-${part.key}-${field.name}`;
    const detailId = `${name}-${value}-detail`;
    const input = h("input", {
      type: "radio",
      name,
      value,
      "data-field": field.name,
      "data-control": `${field.name}=${value}`,
      "aria-describedby": detail ? detailId : false,
    });
    return h(
      "div",
      { class: "cb-option" },
      h(
        "label",
        {},
        input,
        h("span", { class: "cb-label" }, label),
        note ? h("span", { class: "cb-note" }, note) : null,
      ),
      detail
        ? h(
            "div",
            { class: "cb-detail", id: detailId },
            h("p", {}, h("strong", {}, say("before")), before),
            h("p", {}, detail),
            ...cautions.map((text) =>
              remark({ tone: "caution", label: say("caution"), text }),
            ),
          )
        : null,
    );
  }

  drawLines({ name, label, most }, part) {
    const id = `${this.id}-${part.key}-${name}`;
    const count = say("most", { count: most });
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
      h("p", { class: "cb-help", id: `${id}-most` }, count),
    );
  }

  drawSelect(field, part) {
    const id = `${this.id}-${part.key}-${field.name}`;
    return h(
      "div",
      { class: "cb-select-field" },
      h("label", { for: id }, field.label),
      h(
        "select",
        { id, name: field.name, "data-control": field.name },
        h("option", { value: "" }, say("choose")),
        field.options.map(({ value, label }) => h("option", { value }, label)),
      ),
    );
  }

  tell(form, tone, text) {
    form.cb.said.replaceChildren(remark({ tone, label: "", text }));
    this.tellAll(tone, text);
  }

  submit(form) {
    const { part, isPending, button } = form.cb;
    if (isPending) return;
    clearTimeout(form.cb.echoTimer);
    const { values, missing } = valuesOf(form);
    if (missing) {
      this.tell(form, "caution", say("missing", { field: missing }));
      return;
    }
    form.cb.isPending = true;
    button.setAttribute("aria-disabled", "true");
    this.tellAll("news", say("recording"));
    const free = () => {
      form.cb.isPending = false;
      button.removeAttribute("aria-disabled");
    };
    const lost = () => {
      free();
      this.tell(form, "wrong", lostText());
    };
    const reply = (content) => {
      free();
      this.settle(form, content);
    };
    const item = part.item ? { item: part.item } : {};
    this.send({ action: part.action, ...values, ...part.values, ...item }, { reply, lost });
  }

  settle(form, content) {
    if (content.status === "recorded") {
      form.cb.said.replaceChildren();
      this.tellAll(...recordedText(content.time), this.resultText());
      return;
    }
    const input = form.querySelector(".cb-number-field input");
    if (input && content.raw === input.value) {
      this.showEcho(form, input, form.querySelector(".cb-echo"), content);
    }
    if (content.status === "ask") this.tell(form, "caution", content.ask);
    else if (content.status === "refused" && content.raw !== undefined) {
      this.tellAll("caution", `${say("not_recorded")} ${content.text}`);
    } else {
      this.tell(form, content.status === "failed" ? "wrong" : "caution", content.text);
    }
  }
}

function radiosClass({ is_list: isList, is_column: isColumn }) {
  return ["cb-radios", isList && "cb-list", isColumn && "cb-column"]
    .filter(Boolean)
    .join(" ");
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

function valuesOf(form) {
  const values = {};
  for (const field of form.cb.part.fields) {
    const control =
      field.kind === "radios"
        ? form.querySelector(`[data-field="${field.name}"]:checked`)
        : form.querySelector(`[name="${field.name}"]`);
    const value = control?.value ?? "";
    if (!value.trim()) return { missing: `${field.label}.` };
    values[field.name] = value;
  }
  return { values };
}

function render({ model, el }) {
  texts = model.get("texts");
  const page = new Page(model, el);
  const draw = () => page.draw();
  const drawHandIn = () => page.drawHandIn();
  const receive = (content, buffers) => page.receive(content, buffers);
  model.on("change:view", draw);
  model.on("change:hand_in", drawHandIn);
  model.on("msg:custom", receive);
  return () => {
    model.off("change:view", draw);
    model.off("change:hand_in", drawHandIn);
    model.off("msg:custom", receive);
  };
}

export default { render };
