// What is said above the page, the gravest first. Where there is little room, page.css
// shows only its first few words until a student asks for more, but all of what is wrong.

import { _, language } from "./texts.js";

const TONES = ["wrong", "caution", "progress"];

function bars() {
  let place = document.querySelector(".clampbook-bars");
  if (!place) {
    place = document.createElement("div");
    place.className = "clampbook-bars";
    place.setAttribute("role", "status");
    document.body.append(place);
    new ResizeObserver(() => {
      // Only a page of its own makes room for it: over JupyterLab it lies in a corner, and
      // all of that would be drawn anew.
      if (document.getElementById("jp-main-dock-panel")) return;
      const height = `${place.offsetHeight}px`;
      document.body.style.setProperty("--clampbook-bars", height);
      // Jupyter's panels are fitted anew on this event (Lumino, from memory).
      globalThis.dispatchEvent(new Event("resize"));
    }).observe(place);
  }
  return place;
}

const isUnfolded = () => bars().classList.contains("clampbook-unfolded");

function unfold(isWanted) {
  bars().classList.toggle("clampbook-unfolded", isWanted);
  for (const button of bars().querySelectorAll(".clampbook-more")) {
    button.setAttribute("aria-expanded", isWanted);
  }
}

function words(name, text) {
  const span = document.createElement("span");
  span.className = `clampbook-${name}`;
  span.textContent = text;
  return span;
}

function button(label, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = label;
  made.setAttribute("data-lm-suppress-shortcuts", "true");
  made.addEventListener("click", act);
  return made;
}

function moreButton() {
  const more = button(_("More"), () => unfold(!isUnfolded()));
  more.className = "clampbook-more";
  return more;
}

// Each action is a button, which removes what was said. Returns what takes it away.
export function say(tone, short, detail, actions = {}) {
  const bar = document.createElement("div");
  bar.classList.add("clampbook-bar", `clampbook-${tone}`);
  bar.lang = language();
  bar.dataset.rank = TONES.indexOf(tone);
  const text = document.createElement("p");
  text.append(words("short", short), " ", words("detail", detail));
  const acts = Object.entries(actions).map(([label, act]) =>
    button(label, () => {
      bar.remove();
      act();
    }),
  );
  bar.append(text, ...acts, moreButton());
  const isLess = (other) => other.dataset.rank > bar.dataset.rank;
  const others = [...bars().children];
  bars().insertBefore(bar, others.find(isLess) ?? null);
  unfold(others.length > 0 && isUnfolded());
  return () => bar.remove();
}

// What a student has only to know of.
export function tell(short, detail) {
  say("caution", short, detail, { [_("OK")]: () => {} });
}
