// The room of an examination (generator/examining/room.py): sends it the journal's lines,
// and brings readings back. Where it does not answer, all else goes on, the page says so,
// and it is asked again.

const ROOM_EVERY_MS = 5000; // asked also when nothing is new: for time, and to be seen
const ROOM_SOON_MS = 50; // lines that come together are sent together
const ROOM_WAIT_MS = 15000; // no answer by then: the network is gone
const ROOM_AGAIN_MS = 3000;
const CODE_IN_PATH = /^([0-9a-f]{32})\//;

class Room {
  constructor() {
    this.pages = new Set();
    this.window = crypto.randomUUID().replaceAll("-", "").slice(0, 12);
    this.counts = {}; // lines of each session that the room has
    this.conflicts = 0;
    this.code = CODE_IN_PATH.exec(new URL(location.href).searchParams.get("path") ?? "")?.[1];
    this.state = { tone: "news", text: say("room_asking") };
    addEventListener("online", () => this.soon());
  }

  join(page) {
    this.pages.add(page);
    page.roomLine.hidden = false;
    page.root.addEventListener("focusin", () => {
      this.exercise = page.model.get("view").number;
    });
    this.show();
    this.soon();
  }

  leave(page) {
    this.pages.delete(page);
  }

  // ---- asking ----------------------------------------------------------------

  soon(wait = ROOM_SOON_MS) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.ask(), wait);
  }

  get page() {
    return [...this.pages].find(({ root }) => root.isConnected) ?? [...this.pages][0];
  }

  // The lines of each session, up to the first that this page does not have.
  get sessions() {
    const found = {};
    for (const [file, kept] of this.page.post.copy.files) {
      const session = /-([0-9a-f]{8})\.jsonl$/.exec(file)?.[1];
      const hole = kept.findIndex((line) => line === undefined);
      if (session) found[session] = hole < 0 ? kept : kept.slice(0, hole);
    }
    return found;
  }

  get unsent() {
    const left = Object.entries(this.sessions).map(
      ([session, lines]) => lines.length - (this.counts[session] ?? 0),
    );
    return left.reduce((sum, count) => sum + Math.max(0, count), 0);
  }

  async ask() {
    if (this.isAsking || !this.page) return;
    this.isAsking = true;
    this.isStale = false;
    try {
      await this.exchange();
      this.soon(this.isStale ? ROOM_SOON_MS : ROOM_EVERY_MS);
    } catch (error) {
      console.warn("The room:", error.message);
      this.say("wrong", say("room_gone", { count: this.unsent }));
      this.soon(ROOM_AGAIN_MS);
    } finally {
      this.isAsking = false;
    }
  }

  async exchange() {
    if (!this.code) {
      this.say("wrong", say("room_no_code"));
      return;
    }
    const sent = Object.entries(this.sessions).map(([session, lines]) => {
      const at = Math.min(this.counts[session] ?? 0, lines.length);
      return [session, { at, lines: lines.slice(at) }];
    });
    const answer = await fetch(new URL(`../readings/${this.code}`, location.href), {
      method: "POST",
      cache: "no-store",
      signal: AbortSignal.timeout(ROOM_WAIT_MS),
      body: JSON.stringify({
        window: this.window,
        sessions: Object.fromEntries(sent),
        held: this.page.model.get("hand_in").readings ?? [],
        exercise: this.exercise ?? 0,
      }),
    });
    if (answer.status === 409) this.conflict();
    else if (answer.ok) await this.take(await answer.json());
    else if (answer.status === 404) this.say("wrong", say("room_no_code"));
    else if (answer.status === 503) throw new Error("the room cannot write");
    else this.say("wrong", say("room_refused"));
  }

  // Another machine has gone on with this work: what cannot follow it is set aside. The
  // room may also have lost what it had, so everything is sent once more before that.
  conflict() {
    this.conflicts += 1;
    if (this.conflicts > 1) {
      this.page.post.send(
        { action: "aside", counts: this.counts },
        { lost: () => {}, reply: () => location.reload() },
      );
    }
    this.counts = {};
    this.isStale = true;
  }

  async take({ counts, lines, readings, phase, left_s: left, windows }) {
    this.conflicts = 0;
    this.counts = counts;
    if (Object.keys(lines).length || readings.length) {
      await this.pass(lines, readings);
    }
    const parts = [say(`room_${phase}`)];
    if (phase === "running" && left !== null) {
      parts.push(say("room_left", { minutes: Math.ceil(left / 60) }));
    }
    if (this.unsent) parts.push(say("room_unsent", { count: this.unsent }));
    else parts.push(say("room_has_all"));
    if (windows > 1) parts.push(say("room_windows", { count: windows }));
    this.say(this.unsent || windows > 1 ? "caution" : "right", parts.join(" "));
  }

  // The kernel has what came on its disk before it is asked for again.
  pass(lines, readings) {
    const { post } = this.page;
    return new Promise((done, failed) => {
      post.send(
        { action: "room", sent: JSON.stringify({ lines, readings }) },
        {
          lost: () => failed(new Error("the notebook does not answer")),
          reply: (content) => {
            if (content.status !== "taken") {
              failed(new Error(content.text));
              return;
            }
            const name = post.model.get("hand_in").name.replace(/^hand-in-|\.jsonl$/g, "");
            for (const [session, part] of Object.entries(lines)) {
              post.keep({ file: `journal-${name}-${session}.jsonl`, ...part });
            }
            done();
          },
        },
      );
    });
  }

  // ---- what is said ------------------------------------------------------------

  say(tone, text) {
    this.state = { tone, text };
    this.show();
  }

  show() {
    const { tone, text } = this.state;
    for (const { roomLine } of this.pages) {
      if (roomLine.textContent.endsWith(text)) continue;
      roomLine.className = `cb-room cb-${tone}`;
      roomLine.replaceChildren(mark(MARKS[tone]), h("span", {}, text));
    }
  }
}

// All forms of a page are of one student, who is in one room.
function roomOf(page) {
  if (!page.model.get("hand_in").readings) return null;
  const room = (globalThis[ROOM] ??= new Room());
  room.join(page);
  return room;
}
