// What goes between the page and its kernel, and the page's own copy of the journals.

const RECORD_MS = 4000; // no reply by then: say NOT recorded

// Every form of the page shares one copy of the journal lines that were acknowledged,
// so that a hand-in can be made when the kernel is gone.
const copies = (globalThis[Symbol.for("clampbook.copies")] ??= new Map());

// Of an examination, who is told of each new line; room.js.
const ROOM = Symbol.for("clampbook.room");

// Every exercise runs a script of its own, and pages in several tabs can share one
// kernel, whose replies then reach them all: nothing else tells them apart.
const OWN = Math.random().toString(36).slice(2);
let posts = 0;

class Post {
  constructor(model) {
    this.model = model;
    this.id = `cb-${OWN}-${(posts += 1)}`;
    this.requests = 0;
    this.isSilent = false; // the last request got no reply in time
    this.waiting = new Map();
  }

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
    const { name } = this.model.get("hand_in");
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
    globalThis[ROOM]?.soon();
  }

  // ---- the hand-in ---------------------------------------------------------

  // Downloads the hand-in; `tell` says how that goes.
  handIn(tell) {
    if (this.isSilent) {
      this.handInFromCopy(tell);
      return;
    }
    const { name } = this.model.get("hand_in");
    tell("news", say("making"));
    this.send(
      { action: "hand-in" },
      {
        reply: (content, buffers, isLate) => {
          if (content.status !== "hand-in") {
            tell("wrong", content.text);
            return;
          }
          if (isLate) return; // made from the page's own copy already
          download(name, buffers);
          const count = content.recorded;
          tell("right", say("downloaded", { file: name, count }));
        },
        lost: () => this.handInFromCopy(tell),
      },
    );
  }

  handInFromCopy(tell) {
    const { name, header } = this.model.get("hand_in");
    const files = [...this.copy.files.entries()].sort(([a], [b]) => (a < b ? -1 : 1));
    const lines = files.flatMap(([, kept]) => kept.filter(Boolean));
    download(name, [[header, ...lines].map((line) => `${line}\n`).join("")]);
    // Each file begins with a header, which is no step.
    const count = lines.length - files.length;
    tell("caution", say("from_copy", { file: name, count }));
  }
}

function download(name, parts) {
  const url = URL.createObjectURL(new Blob(parts, { type: "application/x-ndjson" }));
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  // Later, because a browser may begin to read it after the click.
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}
