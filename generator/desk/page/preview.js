// One workbook as a student sees it: the real one, in Notebook on this machine.

import { post } from "./api.js";
import { button, el, fill, note } from "./dom.js";
import { _ } from "./texts.js";

export function previewOf(workbook) {
  const place = el("div", {});
  const open = button(_("Try an exercise as a student sees it"), async () => {
    open.disabled = true;
    try {
      const { address } = await post("preview", { workbook });
      fill(
        place,
        el("p", {}, el("a", { href: address, target: "_blank", rel: "noopener" }, _("Open it in a tab of its own"))),
        el("iframe", { src: address, title: _("A workbook as a student sees it") }),
      );
    } catch (error) {
      fill(place, note("wrong", error.message));
      open.disabled = false;
    }
  });
  return el("div", {}, open, place);
}
