// How far the opening of a workbook is: over the whole page until the workbook can be
// read, then in the bar above it. The site draws the first step before any script is here.

import { say } from "./bars.js";
import { _ } from "./texts.js";

const STEPS = 4;
let unsay = () => {};

const drawn = () => document.getElementById("clampbook-opening");

function stepText(number, what) {
  return _("Step {number} of {count}: {what}")
    .replace("{number}", number)
    .replace("{count}", STEPS)
    .replace("{what}", what);
}

// While there is nothing to read yet.
export function showStep(number, what) {
  if (!drawn()) return;
  document.getElementById("clampbook-opening-bar").value = number;
  document.getElementById("clampbook-opening-step").textContent = stepText(number, what);
}

// Once the workbook stands on the page.
export function tellStep(number, what) {
  endOpening();
  unsay = say("progress", _("Your workbook starts …"), stepText(number, what));
}

export function endOpening() {
  drawn()?.remove();
  unsay();
  unsay = () => {};
}
