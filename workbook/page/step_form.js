// The form of one step: sends what was entered, and shows what came back.

const ECHO_MS = 250; // rest after the last key before a number is echoed
const ECHO_REPLY_MS = 15000; // the first number of a session loads the unit library

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

// Fields that fill a form, with the button where they put it.
const WHOLE = { tests: drawChoice, bench: drawBench };
const FIRST_FOLD = "bench";

class StepForm {
  constructor(page, part) {
    this.page = page;
    this.part = part;
    this.id = `${page.id}-${part.key}`;
    this.isPending = false;
    this.said = h("div", { class: "cb-said" });
    this.button = h("button", { "data-control": "submit" }, part.submit);
    this.button.className = part.is_minor ? "" : "cb-primary";
    this.actions = h("div", { class: "cb-actions" }, this.button);
    this.element = this.draw();
  }

  draw() {
    const { legend, help, checklist, fields } = this.part;
    const helpId = `${this.id}-help`;
    const legendId = `${this.id}-legend`;
    // Several forms of a page have a button of the same name: each says what it records.
    this.button.setAttribute("aria-describedby", legendId);
    const [whole] = fields.filter(({ kind }) => kind in WHOLE);
    const form = h(
      "form",
      { class: "cb-form", novalidate: true },
      h(
        "fieldset",
        { "aria-describedby": help ? helpId : false },
        // What is folded has it as its heading.
        h("legend", { id: legendId, class: this.part.fold ? "cb-hidden" : false }, legend),
        help ? h("p", { class: "cb-help", id: helpId }, help) : null,
        drawChecklist(checklist),
        whole
          ? WHOLE[whole.kind](whole, this)
          : [...fields.map((field) => drawField(field, this)), this.actions, this.said],
      ),
    );
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.submit();
    });
    // In JupyterLab, Enter does not reach the form by itself.
    form.addEventListener("keydown", (event) => {
      const isPlain = !(event.shiftKey || event.ctrlKey || event.altKey || event.metaKey);
      if (event.key === "Enter" && event.target.tagName === "INPUT" && isPlain) {
        event.preventDefault();
        form.requestSubmit();
      }
    });
    return this.part.fold ? this.drawFold(form) : form;
  }

  // One of several ways to do a step: one is unfolded at a time.
  drawFold(form) {
    const { page, part } = this;
    const { name, label } = part.fold;
    const isOpen = (page.unfolded ?? FIRST_FOLD) === name;
    const fold = h(
      "details",
      { class: "cb-fold", name: `${page.id}-ways`, open: isOpen },
      h("summary", { "data-control": `fold-${name}` }, label),
      form,
    );
    fold.addEventListener("toggle", () => {
      if (!fold.open) return;
      page.unfolded = name;
      this.bench?.show();
    });
    return fold;
  }

  unfold() {
    if (this.part.fold) this.element.open = true;
  }

  get isUnfolded() {
    return !this.part.fold || this.element.open;
  }

  // ---- numbers -------------------------------------------------------------

  typed() {
    clearTimeout(this.echoTimer);
    this.said.replaceChildren();
    if (!this.number.input.value.trim()) return;
    this.echoTimer = setTimeout(() => this.askEcho(), ECHO_MS);
  }

  askEcho() {
    const { input } = this.number;
    const raw = input.value;
    const { action, item } = this.part;
    this.page.post.send(
      { action: "echo", item, raw, for: action },
      {
        wait: ECHO_REPLY_MS,
        lost: () => this.tell("wrong", lostText()),
        reply: (content) => {
          if (input.value === raw) this.echo(content);
        },
      },
    );
  }

  echo(content) {
    showEcho(this.number, content);
    this.page.tellAll(content.is_readable ? "news" : "caution", content.text);
  }

  // ---- recording -----------------------------------------------------------

  tell(tone, text) {
    this.said.replaceChildren(remark({ tone, label: "", text }));
    this.page.tellAll(tone, text);
  }

  submit() {
    if (this.isPending) return;
    clearTimeout(this.echoTimer);
    const { part, page } = this;
    const { values, missing } = valuesOf(this.element, part.fields);
    if (missing) {
      this.tell("caution", say("missing", { field: missing }));
      return;
    }
    this.isPending = true;
    this.button.setAttribute("aria-disabled", "true");
    page.tellAll("news", say("recording"));
    const free = () => {
      this.isPending = false;
      this.button.removeAttribute("aria-disabled");
    };
    const lost = () => {
      free();
      this.tell("wrong", lostText());
    };
    const reply = (content) => {
      free();
      this.settle(content);
    };
    const item = part.item ? { item: part.item } : {};
    const message = { action: part.action, ...values, ...part.values, ...item };
    page.post.send(message, { reply, lost });
  }

  settle(content) {
    const { page } = this;
    if (content.status === "taken") {
      this.said.replaceChildren();
      return;
    }
    if (content.status === "recorded") {
      this.said.replaceChildren();
      page.tellAll(...recordedText(content.time), page.resultText());
      return;
    }
    if (this.number && content.raw === this.number.input.value) this.echo(content);
    if (content.status === "ask") this.tell("caution", content.ask);
    else if (content.status === "refused" && content.raw !== undefined) {
      page.tellAll("caution", `${say("not_recorded")} ${content.text}`);
    } else {
      this.tell(content.status === "failed" ? "wrong" : "caution", content.text);
    }
  }
}
