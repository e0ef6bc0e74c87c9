// Check: every workbook and exercise proved again; one light, and faults in words.

import { bullets, button, el, fill, note } from "../dom.js";
import { _ } from "../texts.js";
import { run } from "../work.js";
import { dayOf, exercisesOf, kindOf, studentsOf } from "./sets.js";

const light = (tone, text) =>
  el("p", {}, el(`span.light.${tone}`, { "aria-hidden": "true" }), el("strong", {}, text));

function found({ sound, faults }) {
  if (sound) return [light("right", _("The set is sound. It can be given out."))];
  return [
    light("wrong", _("The set is at fault. Do not give it out: make it anew.")),
    bullets(faults),
  ];
}

export async function draw(body, { set }) {
  const place = el("section", { "aria-live": "polite" });
  const next = `#/set/${encodeURIComponent(set.name)}/give`;
  async function check() {
    const result = await run("check", { set: set.name, place });
    if (!result) return place.isConnected && place.append(again());
    fill(place, found(result), el("div.buttons", {}, result.sound && el("a.main", { href: next }, _("Give it out")), again()));
  }
  const again = () => button(_("Check again"), check);
  fill(
    body,
    el("p.quiet", {}, [kindOf(set.mode), studentsOf(set.students.length), exercisesOf(set), _("made on {day}").replace("{day}", dayOf(set.made))].join(" · ")),
    el("p", {}, _("Every workbook is looked through for answers, and every exercise is proved again: that it can be solved, by one repair only, and that its readings are right.")),
    place,
  );
  if (!set.check) return check();
  fill(
    place,
    note("news", _("Checked on {day}.").replace("{day}", dayOf(set.check.at))),
    found(set.check),
    el("div.buttons", {}, set.check.sound && el("a.main", { href: next }, _("Give it out")), again()),
  );
}
