// Signs on the wiring diagram, in its units: what is cleared or suspect, readings beside
// their places, and what a test puts where.

const STATE_SIGNS = { cleared: "✓", suspect: "?" };
const INSET = 8; // of a frame around a path, so that it stays off the names beside it
const FLAG_SIZE = 16;
const NARROWEST = 0.55; // of a letter's width, before a reading is cut off
const FLAG_FONT = "Clampbook Sans, Arial, Helvetica, Liberation Sans, sans-serif";

function disc(x, y, text, name) {
  return s(
    "g",
    { class: `cb-disc cb-disc-${name}` },
    s("circle", { cx: x, cy: y, r: 11 }),
    s("text", { x, y: y + 6, "text-anchor": "middle" }, text),
  );
}

function inner({ frame: [x, y, width, height] }) {
  // A path is pointed at 17 units to either side (generator/pictures/spots.py).
  const inset = width === 34 ? INSET : 0;
  return { x: x + inset, y: y + 2, width: width - 2 * inset, height: height - 4, rx: 5 };
}

function drawState(spot, state) {
  const sign = STATE_SIGNS[state];
  if (!sign) return [];
  const [x, y] = spot.sign;
  return [
    s("rect", { ...inner(spot), class: `cb-state-frame cb-is-${state}` }),
    disc(x, y, sign, state),
  ];
}

// ---- readings --------------------------------------------------------------------

const pen = document.createElement("canvas").getContext("2d");

function widthOf(text) {
  pen.font = `700 ${FLAG_SIZE}px ${FLAG_FONT}`;
  return pen.measureText(text).width;
}

function fitting(text, width) {
  if (widthOf(text) <= width) return text;
  let most = text.length - 1;
  while (most > 1 && widthOf(`${text.slice(0, most)}…`) > width) most -= 1;
  return `${text.slice(0, most).trimEnd()}…`;
}

// Where a reading has room: at its spot, or at the next one that has.
function flaggedSpot(spots, at) {
  const spot = spots.get(at);
  if (!spot || spot.flags.length) return spot;
  const [x, y] = middleOf(spot);
  const apart = (other) => Math.hypot(middleOf(other)[0] - x, middleOf(other)[1] - y);
  const having = [...spots.values()].filter(({ flags }) => flags.length);
  return having.sort((a, b) => apart(a) - apart(b))[0];
}

// The latest readings of a place, and how many more there are.
function drawFlags(spots, readings) {
  const at = new Map(readings.map((each) => [each, flaggedSpot(spots, each.at)]));
  return [...new Set(at.values())].flatMap((spot) => {
    const flags = spot?.flags ?? [];
    const taken = readings.filter((reading) => at.get(reading) === spot);
    const more = taken.length - flags.length;
    const shown = more > 0 ? taken.slice(more) : taken;
    return shown.map(({ number, text }, place) => {
      const own = `${number}: ${text}`;
      const all = place === 0 && more > 0 ? `+${more} ${own}` : own;
      // Four units stay free on either side, as `drawFlag` leaves them.
      const hasRoom = widthOf(all) <= flags[place][2] - 8;
      return drawFlag(flags[place], hasRoom ? all : own);
    });
  });
}

// A reading without its unit is another one: letters are narrowed first.
function drawFlag([x, y, width, anchor], text) {
  const shown = fitting(text, (width - 8) / NARROWEST);
  const textLength = Math.min(widthOf(shown), width - 8);
  const wide = textLength + 8;
  const left = anchor === "end" ? x - wide : x;
  return s(
    "g",
    { class: "cb-flag" },
    s("rect", { x: left, y: y - 15, width: wide, height: 20, rx: 3 }),
    s(
      "text",
      { x: left + 4, y: y + 1, textLength, lengthAdjust: "spacingAndGlyphs" },
      shown,
    ),
  );
}

// ---- how a test is done ------------------------------------------------------------

const REACH = 28; // from a path to the middle of a probe's sign

function middleOf({ frame: [x, y, width, height] }) {
  return [x + width / 2, y + height / 2];
}

function path(d, name) {
  return s("path", { d, class: `cb-sign-${name}` });
}

function probe(spot, text, name) {
  const [x, y] = middleOf(spot);
  return [path(`M${x - REACH} ${y} H${x - 5}`, "line"), disc(x - REACH, y, text, name)];
}

function lead({ frame: [x, y, width, height] }) {
  const at = x + width / 2;
  const side = at - 20;
  const middle = y + height / 2;
  return [
    path(`M${at} ${y} H${side} V${y + height} H${at}`, "lead"),
    s("rect", {
      x: side - 5,
      y: middle + 2,
      width: 10,
      height: 18,
      class: "cb-sign-box",
    }),
  ];
}

// The clamp closes around one conductor: its lead where there is one.
function clamp(spot, hasLead) {
  const { frame } = spot;
  const x = frame[0] + frame[2] / 2 - (hasLead ? 20 : 0);
  const y = frame[1] + (hasLead ? 12 : Math.min(frame[3] / 3, 30));
  return [
    s("ellipse", { cx: x, cy: y, rx: hasLead ? 9 : 14, ry: 6, class: "cb-sign-ring" }),
    path(`M${x - (hasLead ? 9 : 14)} ${y} h-12`, "ring"),
  ];
}

function jumper(from, to) {
  const [x, y] = middleOf(from);
  const [, toY] = middleOf(to);
  const middle = (y + toY) / 2;
  return [
    path(`M${x} ${y} C${x - 46} ${y + 30} ${x - 46} ${toY - 30} ${x} ${toY}`, "lead"),
    s("rect", {
      x: x - 40,
      y: middle - 9,
      width: 10,
      height: 18,
      class: "cb-sign-box",
    }),
  ];
}

function cross(spot) {
  const { x, y, width, height } = inner(spot);
  return path(`M${x} ${y} l${width} ${height} m0 ${-height} l${-width} ${height}`, "out");
}

function eye(spot) {
  const [x, y] = [spot.frame[0] - 4, spot.frame[1] + spot.frame[3] / 2];
  return [
    path(`M${x - 16} ${y} q16 -20 32 0 q-16 20 -32 0 Z`, "eye"),
    s("circle", { cx: x, cy: y, r: 4, class: "cb-sign-dot" }),
  ];
}

function command(spot, text) {
  const [x, y] = spot.frame;
  return disc(x - 4, y + 54, text, "command");
}

const SIGNS = {
  lead,
  plus: (spot) => probe(spot, "+", "plus"),
  minus: (spot) => probe(spot, "−", "minus"),
  scope: (spot) => probe(spot, "~", "plus"),
  eye,
  hand: ({ sign: [x, y] }) => disc(x, y + 28, "↔", "command"),
  felt: ({ sign: [x, y] }) => disc(x, y + 28, "♪", "command"),
  thermometer: ({ sign: [x, y] }) => disc(x, y + 28, "θ", "command"),
  warmed: ({ sign: [x, y] }) => disc(x, y + 28, "°", "command"),
  moved: (spot) => disc(...middleOf(spot), "↔", "command"),
  new: (spot) => disc(...middleOf(spot), "2", "command"),
  out: cross,
  normal: (spot) => command(spot, "1"),
  "output test": (spot) => command(spot, "T"),
  off: (spot) => command(spot, "0"),
};

function drawSigns(spots, signs) {
  const at = (kind) =>
    signs.filter(([name]) => name === kind).map(([, id]) => spots.get(id));
  const leads = at("lead");
  const ends = [...at("jumper"), ...at("past")];
  const drawn = signs
    .filter(([kind, id]) => kind in SIGNS && spots.has(id))
    .map(([kind, id]) => SIGNS[kind](spots.get(id)));
  const clamps = at("clamp").map((spot) => clamp(spot, leads.includes(spot)));
  return [drawn, ends.length === 2 ? jumper(...ends) : [], clamps].flat(Infinity);
}
