// What stands apart from the steps of an exercise: the student's own notes, printing, and
// the exercise once more from its start.

const PRINTED_ONE = "clampbook-unprinted"; // page.css leaves such cells out on paper

class Own {
  constructor(page) {
    this.page = page;
    const id = `${page.id}-note`;
    this.note = h("textarea", { id, rows: 3, "aria-describedby": `${id}-help` });
    this.keep = button(say("note_keep"), () => this.keepNote());
    this.again = h("div", { class: "cb-again" });
    this.title = h("summary", {});
    this.element = h(
      "details",
      { class: "cb-own" },
      this.title,
      h("label", { for: id }, say("note")),
      h("p", { class: "cb-help", id: `${id}-help` }, say("note_help")),
      this.note,
      h("div", { class: "cb-actions" }, this.keep),
      h("div", { class: "cb-actions cb-printing" }, this.printButtons()),
      this.again,
    );
  }

  draw() {
    const { note = "", most, can_restart: canRestart, told } = this.page.model.get("own");
    this.element.hidden = most === undefined;
    this.title.textContent = say(canRestart || told ? "own" : "own_graded");
    if (most) this.note.maxLength = most;
    // What is being written stays, whatever else was recorded meanwhile.
    if (note !== this.kept) this.note.value = note;
    this.kept = note;
    this.again.replaceChildren(
      ...(told ? [h("p", { class: "cb-help" }, told)] : []),
      ...(canRestart ? [this.restartButton()] : []),
    );
  }

  // ---- recording -------------------------------------------------------------------

  record(message) {
    const { page } = this;
    page.tellAll("news", say("recording"));
    page.post.send(
      { item: "exercise", ...message },
      {
        lost: () => page.tellAll("wrong", lostText()),
        reply: ({ status, text, time }) => {
          if (status === "recorded") page.tellAll(...recordedText(time));
          else page.tellAll(status === "failed" ? "wrong" : "caution", text);
        },
      },
    );
  }

  keepNote() {
    if (this.note.value === this.kept) this.page.tellAll("right", say("note_kept"));
    else this.record({ action: "note", text: this.note.value });
  }

  restartButton() {
    const ask = () => {
      const main = { class: "cb-primary" };
      const yes = button(say("restart_yes"), () => this.restart(), main);
      const no = button(say("restart_no"), () => this.draw());
      const question = h("p", { role: "alert" }, say("restart_ask"));
      this.again.replaceChildren(question, h("div", { class: "cb-actions" }, yes, no));
      yes.focus();
    };
    return button(say("restart"), ask);
  }

  restart() {
    this.record({ action: "restart" });
    this.page.root.focus();
  }

  // ---- printing ----------------------------------------------------------------------

  printButtons() {
    return [
      button(say("print_one"), () => this.print(true)),
      button(say("print_all"), () => this.print(false)),
    ];
  }

  print(isOne) {
    const cell = this.page.root.closest(".jp-Cell");
    const cells = [...(this.page.way.notebook?.querySelectorAll(".jp-Cell") ?? [])];
    const place = cells.indexOf(cell);
    // The cell before it has the circuit in Markdown, which is shown on paper again.
    const isOwn = (each, at) =>
      each === cell || (at === place - 1 && each.matches(".clampbook-circuit"));
    cells.forEach((each, at) => {
      each.classList.toggle(PRINTED_ONE, isOne && !isOwn(each, at));
    });
    globalThis.print();
    for (const each of cells) each.classList.remove(PRINTED_ONE);
  }
}
