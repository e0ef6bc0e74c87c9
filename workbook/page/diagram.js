// The wiring diagram: what is known of each place is marked on it, and pointing at a place
// offers the tests there.

const SVG = "http://www.w3.org/2000/svg";

// What a drawing of ours is made of: nothing else of what stands in a file is shown.
const DRAWN = new Set(["svg", "g", "path", "rect", "circle", "text", "title", "desc"]);
const DRAWN_BY = new Set(
  (
    "viewBox d x y cx cy r width height fill stroke stroke-width stroke-linecap " +
    "stroke-linejoin stroke-dasharray font-family font-size font-weight text-anchor " +
    "textLength lengthAdjust"
  ).split(" "),
);

function s(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, value);
  }
  element.append(...children.flat(Infinity).filter((child) => child != null));
  return element;
}

function copyDrawing(node) {
  if (node.nodeType === Node.TEXT_NODE) return node.data;
  if (!DRAWN.has(node.localName)) return null;
  const kept = [...node.attributes].filter(({ name }) => DRAWN_BY.has(name));
  const attributes = Object.fromEntries(kept.map(({ name, value }) => [name, value]));
  return s(node.localName, attributes, [...node.childNodes].map(copyDrawing));
}

function readDrawing(text) {
  return copyDrawing(
    new DOMParser().parseFromString(text, "image/svg+xml").documentElement,
  );
}

class Diagram {
  constructor(page, { svg, alt, spots, signs }) {
    this.page = page;
    this.signs = signs;
    this.spots = new Map(spots.map((spot) => [spot.id, spot]));
    this.layers = Object.fromEntries(
      ["states", "readings", "signs"].map((name) => [
        name,
        s("g", { class: `cb-${name}`, "aria-hidden": "true" }),
      ]),
    );
    this.hits = new Map(bySize(spots).map((spot) => [spot.id, this.drawHit(spot)]));
    this.svg = this.drawSheet(readDrawing(svg));
    this.offer = h("div", { class: "cb-offer", role: "group", hidden: true });
    this.told = h("p", { class: "cb-small cb-told" });
    this.window = h(
      "div",
      { class: "cb-window", tabindex: "0", role: "group", "aria-label": say("diagram") },
      this.svg,
      this.offer,
    );
    this.element = h(
      "div",
      { class: "cb-diagram" },
      this.window,
      h("p", { class: "cb-hidden", id: `${page.id}-alt` }, alt),
      this.told,
    );
    this.zoom = new Zoom(this.window, this.svg);
    this.element.append(this.zoom.buttons);
    this.listen();
  }

  drawSheet(drawing) {
    const title = drawing.querySelector("title")?.textContent ?? "";
    for (const words of drawing.querySelectorAll("title, desc")) words.remove();
    return s(
      "svg",
      {
        viewBox: drawing.getAttribute("viewBox"),
        role: "group",
        "aria-label": title,
        "aria-describedby": `${this.page.id}-alt`,
      },
      s("g", { class: "cb-drawing", "aria-hidden": "true" }, [...drawing.childNodes]),
      Object.values(this.layers),
      s("g", {}, [...this.hits.values()]),
    );
  }

  drawHit({ id, label, frame: [x, y, width, height] }) {
    return s(
      "g",
      { class: "cb-spot", id: `${this.page.id}-at-${id}`, "data-at": id },
      s("title", {}, label),
      s("rect", { x, y, width, height, rx: 4 }),
    );
  }

  // ---- what is marked --------------------------------------------------------

  draw({ readings, states, shown, offers }) {
    this.offers = offers;
    const marked = states.filter(({ at }) => this.spots.has(at));
    this.layers.states.replaceChildren(
      ...marked.flatMap(({ at, state }) => drawState(this.spots.get(at), state)),
    );
    this.layers.readings.replaceChildren(...drawFlags(this.spots, readings));
    this.showTest("", shown);
    this.closeOffer();
    this.drawHits();
  }

  showTest(test, signs = this.signs[test] ?? []) {
    this.showSigns(signs);
    this.reveal(signs.map(([, at]) => this.spots.get(at)).filter(Boolean));
  }

  showSigns(signs) {
    this.layers.signs.replaceChildren(...drawSigns(this.spots, signs));
    const told = signs.map(([kind, at]) => {
      const { label } = this.spots.get(at) ?? { label: "" };
      return say(`sign_${kind.replaceAll(" ", "_")}`, { at: label });
    });
    this.told.textContent = [...new Set(told)].join(" · ");
  }

  // Where the diagram is higher than its window, what a test puts on it is in view.
  reveal(spots) {
    if (!spots.length) return;
    const scale = this.svg.clientWidth / this.svg.viewBox.baseVal.width;
    const top = Math.min(...spots.map(({ frame }) => frame[1])) * scale;
    const bottom = Math.max(...spots.map(({ frame }) => frame[1] + frame[3])) * scale;
    const { scrollTop, clientHeight } = this.window;
    const isSeen = top >= scrollTop && bottom <= scrollTop + clientHeight;
    if (!isSeen) this.window.scrollTop = top - 40;
  }

  // ---- pointing --------------------------------------------------------------

  // One stop for Tab, and arrows from place to place.
  drawHits() {
    for (const [id, hit] of this.hits) {
      const { tests = [], moves = [] } = this.offers[id] ?? {};
      const isOffering = tests.length + moves.length > 0;
      hit.classList.toggle("cb-offering", isOffering);
      for (const name of ["role", "tabindex", "aria-label", "aria-expanded"]) {
        hit.removeAttribute(name);
      }
      hit.toggleAttribute("aria-hidden", false);
      if (!isOffering) {
        hit.setAttribute("aria-hidden", "true");
        continue;
      }
      const { label } = this.spots.get(id);
      hit.setAttribute("role", "button");
      hit.setAttribute("tabindex", "-1");
      hit.setAttribute("aria-expanded", "false");
      const told = { at: label, count: tests.length, moves: moves.length };
      hit.setAttribute("aria-label", say(moves.length ? "moves_at" : "tests_at", told));
      hit.setAttribute("data-lm-suppress-shortcuts", "true");
    }
    this.offering()[0]?.setAttribute("tabindex", "0");
  }

  offering() {
    return [...this.spots.keys()]
      .map((id) => this.hits.get(id))
      .filter((hit) => hit.classList.contains("cb-offering"));
  }

  listen() {
    this.svg.addEventListener("click", ({ target }) => {
      const hit = target.closest(".cb-offering");
      if (hit) this.openOffer(hit);
      else this.closeOffer();
    });
    this.svg.addEventListener("keydown", (event) => {
      const hit = event.target.closest(".cb-offering");
      if (hit) this.press(event, hit);
    });
    this.offer.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      event.stopPropagation();
      this.closeOffer()?.focus();
    });
  }

  press(event, hit) {
    const all = this.offering();
    const steps = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 };
    if (["Enter", " "].includes(event.key)) this.openOffer(hit);
    else if (event.key in steps) {
      // Plus all, because -1 % n is -1 here.
      const place = all.indexOf(hit) + steps[event.key] + all.length;
      const next = all[place % all.length];
      hit.setAttribute("tabindex", "-1");
      next.setAttribute("tabindex", "0");
      next.focus();
    } else return;
    event.preventDefault();
  }

  openOffer(hit) {
    this.closeOffer();
    const { id, label, frame } = this.spots.get(hit.dataset.at);
    const { tests, moves } = this.offers[id];
    const buttons = tests.map((test) => this.drawTest(test));
    const heading = h("p", { class: "cb-offer-title" }, label);
    this.offer.setAttribute("aria-label", label);
    this.offer.replaceChildren(heading, ...this.drawOffered(moves, buttons));
    const scale = this.svg.clientWidth / this.svg.viewBox.baseVal.width;
    this.offer.style.top = `${(frame[1] + Math.min(frame[3], 60)) * scale}px`;
    this.offer.hidden = false;
    this.opened = hit;
    hit.setAttribute("aria-expanded", "true");
    this.offer.querySelector("button").focus({ preventScroll: true });
    this.offer.scrollIntoView({ block: "nearest" });
  }

  drawTest({ test, label, note }) {
    const text = [h("span", {}, label), h("span", { class: "cb-note" }, note)];
    return button(text, () => this.choose(test), { class: "cb-offered" });
  }

  // Where a set-up can be made here, the tests of the list stay folded.
  drawOffered(moves, tests) {
    if (!moves.length || !tests.length) return [...this.drawMoves(moves), ...tests];
    const summary = h("summary", {}, say("listed_here", { count: tests.length }));
    return [...this.drawMoves(moves), h("details", {}, summary, tests)];
  }

  // What can be done here for a set-up of one's own.
  drawMoves(moves) {
    const things = [...new Set(moves.map(({ of }) => of))];
    const moving = (move) => {
      const name = { "aria-label": `${move.label}: ${move.of}` };
      return button(move.label, () => this.move(move), name);
    };
    const open = moves.filter((move) => !this.page.bench.isSo(move));
    const row = (thing) =>
      h(
        "div",
        { class: "cb-moves" },
        things.length > 1 ? h("span", { class: "cb-of" }, thing) : null,
        open.filter(({ of }) => of === thing).map(moving),
      );
    return things.map(row);
  }

  move(move) {
    const at = this.closeOffer();
    this.page.bench.move(move);
    at.focus({ preventScroll: true });
    // The menu may have moved a diagram that is wider than its window.
    at.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  choose(test) {
    this.closeOffer();
    this.page.chooseTest(test);
  }

  // Returns the place whose tests were offered.
  closeOffer() {
    const { opened } = this;
    opened?.setAttribute("aria-expanded", "false");
    this.offer.hidden = true;
    this.opened = null;
    return opened;
  }
}

// Small places lie above those that surround them.
function bySize(spots) {
  const size = ({ frame: [, , width, height] }) => width * height;
  return [...spots].sort((a, b) => size(b) - size(a));
}

// ---- larger and smaller --------------------------------------------------------

const MOST_ZOOM = 4;

class Zoom {
  constructor(window, svg) {
    this.window = window;
    this.svg = svg;
    this.factor = 1;
    this.fingers = new Map();
    const zoom = (name, sign, factor) =>
      button(sign, () => this.to(this.factor * factor), { "aria-label": say(name) });
    this.buttons = h(
      "div",
      { class: "cb-zoom" },
      zoom("smaller", "−", 1 / 1.3),
      zoom("larger", "+", 1.3),
    );
    window.addEventListener("pointerdown", (event) => this.touch(event));
    window.addEventListener("pointermove", (event) => this.move(event));
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
      window.addEventListener(end, ({ pointerId }) => this.fingers.delete(pointerId));
    }
  }

  to(factor) {
    this.factor = Math.min(MOST_ZOOM, Math.max(1, factor));
    this.svg.style.width = `${100 * this.factor}%`;
    this.window.classList.toggle("cb-zoomed", this.factor > 1);
  }

  touch({ pointerType, pointerId, clientX, clientY }) {
    if (pointerType !== "touch") return;
    this.fingers.set(pointerId, [clientX, clientY]);
    this.from = { apart: this.apart(), factor: this.factor };
  }

  move({ pointerId, clientX, clientY }) {
    if (!this.fingers.has(pointerId)) return;
    this.fingers.set(pointerId, [clientX, clientY]);
    if (this.fingers.size === 2) {
      this.to((this.from.factor * this.apart()) / this.from.apart);
    }
  }

  apart() {
    // With one finger on it is no distance, and nobody asks for it.
    const [[x, y], [toX, toY]] = [...this.fingers.values(), [0, 0], [0, 0]];
    return Math.max(1, Math.hypot(x - toX, y - toY));
  }
}
