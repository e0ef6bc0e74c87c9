// The start page: finds a student's workbook by the code of the private link, and tells
// in plain words whether this browser can keep answers.

import { nearlyFull, whyNotKept } from "./extensions/clampbook/static/keeping.js";
import { _, noteLanguage, notedLanguage, speak } from "./extensions/clampbook/static/texts.js";

const CODE = /([0-9a-f]{32})(?![0-9a-f])/;
const form = document.getElementById("open");
const field = document.getElementById("code");
const said = document.getElementById("said");
const list = document.getElementById("checks");

// ---- opening ---------------------------------------------------------------

function say(text, isWrong = false) {
  said.textContent = text;
  said.className = isWrong ? "wrong" : "";
}

async function addressOf(code) {
  const answer = await fetch(`api/contents/${code}/all.json`, { cache: "no-cache" });
  if (!answer.ok) throw new Error("unknown");
  const { content } = await answer.json();
  // The first one is in the language of this page, the others say theirs.
  const wanted = content.find(({ name }) => name.endsWith(`.${notedLanguage()}.ipynb`));
  // The page of a workbook speaks it from its first moment on; a student may change it.
  if (!wanted) noteLanguage(document.documentElement.lang);
  const { path } = wanted ?? content[0];
  return `notebooks/index.html?path=${encodeURIComponent(path)}`;
}

async function open(go) {
  const code = CODE.exec(field.value.toLowerCase())?.[1];
  if (!code) {
    say(_("A code has 32 letters and digits, as it stands in your link."), true);
    return;
  }
  say(_("Opening your workbook …"));
  // Asks the browser not to clear the answers when it wants room. Not all do.
  navigator.storage?.persist?.();
  try {
    go(await addressOf(code));
  } catch {
    say(_("There is no workbook with this code here. Look at your link again."), true);
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  open((address) => location.assign(address));
});
globalThis.addEventListener("hashchange", () => location.reload());

// The code stands behind #: so it is told to nobody who only looks what a link leads to.
// The site's own server is asked for the folder of that name, and may write that down.
field.value = CODE.exec(location.hash)?.[1] ?? "";
await speak(document.documentElement.lang);
if (field.value) say(_("Opening your workbook …"));

// ---- checks ----------------------------------------------------------------

function check(tone, text) {
  const item = document.createElement("li");
  item.className = tone;
  item.textContent = text;
  list.append(item);
}

// Not one for the pages themselves: JupyterLite would take that for an older one of its
// own and remove it, and now and then ask for Python through what was just removed,
// which never answers.
async function tryWorker() {
  const scope = "./check/";
  const made = await navigator.serviceWorker.register("service-worker.js", { scope });
  return made.unregister();
}

// At the test link the instructor's own server is told; any other knows nothing of it.
function tell(found) {
  if (location.hash !== "#try") return;
  const body = JSON.stringify({ device: navigator.userAgent, ...found });
  fetch("tried", { method: "post", body }).catch(() => {});
}

// Says what speaks against opening a workbook here; gives whether nothing does.
function tellChecks(reason, seen) {
  list.replaceChildren();
  const isTooOld = typeof WebAssembly !== "object";
  if (isTooOld) {
    check("wrong", _("This browser is too old: it cannot run Python (no WebAssembly)."));
  }
  if (reason) {
    check(
      "wrong",
      _(
        "Nothing is kept here, because {reason}. Ask your instructor. You can look at " +
          "your workbook, but what you do in it would be lost when you close it: " +
          "download your hand-in first.",
      ).replace("{reason}", reason),
    );
  }
  tell({ keeps: !reason, runs: !isTooOld, why: reason });
  if (seen) check("caution", `${seen.short} ${seen.detail}`);
  else if (!reason) {
    check(
      "right",
      _(
        "This browser keeps what you do, and finds it again. A private window " +
          "forgets it when you close it.",
      ),
    );
  }
  return !(isTooOld || reason || seen);
}

const isAllWell = tellChecks(...(await Promise.all([whyNotKept(tryWorker), nearlyFull()])));
if (field.value) {
  // Without this page in the history, whose way back would lead here again.
  if (isAllWell) open((address) => location.replace(address));
  else say(_("Your link is filled in: press the button."));
}
