// Opens a workbook as one page without code: runs its cells by itself, hides what a
// student does not need, and says when nothing would be kept.

import { say, tell } from "./bars.js";
import { handIn } from "./hand_in.js";
import { nearlyFull, whyNotKept } from "./keeping.js";
import { endOpening, showStep, tellStep } from "./opening.js";
import { _, noteLanguage, speak } from "./texts.js";

const OURS = /^import workbook; workbook\.exercise\(\d+(, "[a-z]{2}")?\)$/;
// What Python could import in place of our own package, beside a strange notebook.
const IMPORTABLE = /\.(py|pyc|pyd|so|pth|zip|egg)$/i;
// Gives no name to anything in a kernel.
const READY = "__import__('workbook.page.form').page.form.get_ready()";
const START_MS = 60000;
const KEEP = Symbol.for("clampbook.not-kept"); // read by workbook/page/form.js

// ---- is anything kept? -----------------------------------------------------

const isSite = () => Boolean(document.querySelector("[data-jupyter-lite-root]"));

async function tellStorage(contents, path, isFirstVisit) {
  const reason = await whyNotKept();
  if (reason) sayNotKept(contents, path, reason);
  else {
    const seen = await nearlyFull();
    if (seen) tell(seen.short, seen.detail);
    else if (await isFirstVisit) tellFirstVisit();
    await noteWorker();
  }
}

// True of every window, for no browser tells a page whether its window is private.
function tellFirstVisit() {
  tell(
    _("Your answers stay in this browser only."),
    _(
      "Clearing its data or closing a private window (incognito) deletes them, and a " +
        "full disk may: press “Download my hand-in” before you close this page.",
    ),
  );
}

function sayNotKept(contents, path, reason) {
  globalThis[KEEP] = reason;
  // The browser then asks before it closes a page in which something was done.
  globalThis.addEventListener("beforeunload", (event) => event.preventDefault());
  say(
    "wrong",
    _("NOTHING IS KEPT when you close this page."),
    _(
      "The reason: {reason}. Tell your instructor. If you work all the same, press " +
        "“Download my hand-in” before you close it.",
    ).replace("{reason}", reason),
    { [_("Download what was kept before")]: () => handIn(contents, path) },
  );
}

// JupyterLite notes the version of its service worker on the second visit only, and
// then removes the worker of that very page first: Python, asked for at that moment,
// sometimes never comes. So it is noted on the first.
async function noteWorker() {
  const { active } = await navigator.serviceWorker.ready;
  const settings = document.getElementById("jupyter-config-data").textContent;
  const { appVersion } = JSON.parse(settings);
  localStorage.setItem(`${active.scriptURL}-version`, appVersion);
}

// A lock is held while the page is open, so that a second tab can tell.
function tellSecondTab(path) {
  navigator.locks?.request(`clampbook:${path}`, { ifAvailable: true }, (lock) => {
    if (lock) return new Promise(() => {});
    tell(
      _("This workbook is open in another tab or window, too."),
      _(
        "Nothing is lost, but close one of them, so that you see all your steps in " +
          "one place.",
      ),
    );
    return undefined;
  });
}

// ---- opening ---------------------------------------------------------------

const folderOf = (path) => path.split("/").slice(0, -1).join("/");

// Web servers that say nothing of it let browsers keep files for days: a new edition
// has to be seen at once, and no lock used that lists packages of an older site.
// Returns the language of the workbook.
async function renew(path) {
  const names = [`files/${path}`, "static/pyodide/pyodide-lock.json"];
  const asked = names.map((name) => fetch(`../${name}`, { cache: "no-cache" }));
  const [{ value: answer }] = await Promise.allSettled(asked);
  const notebook = await answer?.json().catch(() => null);
  return notebook?.metadata?.clampbook?.language;
}

// The notebook that the address of this page asks for.
function askedPath() {
  if (isSite()) return new URL(location.href).searchParams.get("path") ?? "";
  const [, path = ""] = /\/(?:tree|notebooks)\/(.+\.ipynb)$/.exec(location.pathname) ?? [];
  return decodeURIComponent(path);
}

// Python takes long to come, so it starts while the page is still made; the notebook
// then finds it running. The connection ends once it is whole: Jupyter miscounts those
// that end sooner.
async function startPython({ contents, sessions }, path) {
  if (!path) return;
  const { metadata } = (await contents.get(path, { content: true })).content;
  if (!metadata.clampbook) return;
  looked = { path, isSafe: isSafe(contents, path) };
  const { name } = metadata.kernelspec;
  const session = await sessions.startNew(
    { path, name: path.split("/").pop(), type: "notebook", kernel: { name } },
    { kernelConnectionOptions: { handleComms: false } },
  );
  getReady(session.kernel, looked.isSafe)
    .catch(() => {})
    .finally(() => session.dispose());
}

// Beside a server Python is there before the page is, and has time for what the first
// exercise would wait for; on the site it comes last.
async function getReady(kernel, isSafe) {
  await kernel.info;
  if (isSite() || !(await isSafe)) return;
  await kernel.requestExecute({ code: READY, silent: true }).done;
}

// The site lists nobody, but a kernel starts only in a folder that is listed. So the
// entry of a student's own folder is made in the student's browser. Returns whether it
// was: that is the first visit.
async function listFolder(contents, path) {
  const folder = folderOf(path);
  if (!folder || !/\.ipynb$/.test(path)) return false;
  try {
    await contents.get(folder, { content: false });
    return false;
  } catch {
    await contents.get(path, { content: false });
    await contents.save(folder, {
      type: "directory",
      format: "json",
      content: null,
      name: folder.split("/").pop(),
      path: folder,
    });
    return true;
  }
}

// What was found beside a workbook before its page was there.
let looked;

// Nothing starts by itself beside files that could stand in for our package.
async function isSafe(contents, path) {
  if (isSite()) return true;
  const { content } = await contents.get(folderOf(path));
  return content.every(({ name, type }) => type !== "directory" && !IMPORTABLE.test(name));
}

function sayLate(contents, path) {
  return say(
    "wrong",
    _("The workbook does not start."),
    _(
      "Reload this page; if that does not help, try another browser or tell your " +
        "instructor. What you recorded is kept.",
    ),
    {
      [_("Download it")]: () => handIn(contents, path),
      [_("Reload")]: () => location.reload(),
    },
  );
}

const isExercise = ({ type, sharedModel }) =>
  type === "code" && OURS.test(sharedModel.source);

async function run(panel, contents, CodeCell) {
  tellStep(3, _("Python starts, which takes a few seconds. You can read already."));
  let unsay = () => {};
  const late = setTimeout(() => {
    endOpening();
    unsay = sayLate(contents, panel.context.path);
  }, START_MS);
  await panel.sessionContext.ready;
  await panel.sessionContext.session?.kernel?.info;
  const cells = panel.content.widgets.filter(({ model }) => isExercise(model));
  // One more than the one that runs: so the kernel need not wait for the page between,
  // and what a student sends meanwhile waits for two cells at most.
  const waiting = cells.entries();
  const runRest = async () => {
    for (const [place, cell] of waiting) {
      const of = _("exercise {number} of {count} appears.");
      tellStep(4, of.replace("{number}", place + 1).replace("{count}", cells.length));
      await CodeCell.execute(cell, panel.sessionContext);
    }
  };
  await Promise.all([runRest(), runRest()]);
  clearTimeout(late);
  endOpening();
  unsay();
  // The frame around the first cell tells a student nothing.
  if (document.activeElement?.matches(".jp-Cell")) document.activeElement.blur();
}

// Notebook 7 and the site have a page for one notebook; JupyterLab has tabs.
function showAlone(panel, language) {
  if (!document.getElementById("menu-panel-wrapper")) return;
  document.documentElement.lang = language;
  document.body.classList.add("clampbook-alone");
  const isOutside = ({ target }) => !target.closest?.(".cb-root, .clampbook-bars");
  // Single keys and the menu of the right button could change the notebook.
  const hold = (event) => {
    if (!isOutside(event)) return;
    event.stopImmediatePropagation();
    const key = event.key?.toLowerCase();
    if (key === "s" && (event.ctrlKey || event.metaKey)) event.preventDefault();
  };
  globalThis.addEventListener("keydown", hold, true);
  globalThis.addEventListener("contextmenu", hold, true);
  // The journal is the record: the notebook is never saved, nor asked about.
  const { model } = panel.context;
  model.stateChanged.connect(() => {
    if (model.dirty) model.dirty = false;
  });
}

// While a form shows the circuit itself and one exercise is in view (workbook/page/way.js),
// page.css puts cells of other kinds out of sight.
function nameCell({ model, node }) {
  const isCircuit = /^circuit-\d+$/.test(model.id);
  const other = isCircuit ? "circuit" : "text";
  node.classList.add(`clampbook-${isExercise(model) ? "exercise" : other}`);
}

// The same workbook in another language opens in the place of this one, not beside it.
function changeInPlace({ languages = {} }) {
  const follow = (event) => {
    const link = event.target.closest?.("a[href]");
    // Jupyter may have made more of it than the file's name.
    const asked = decodeURIComponent(link?.href ?? "");
    const found = Object.entries(languages).find(([, file]) => asked.includes(file));
    if (!found) return;
    const [language, name] = found;
    event.preventDefault();
    event.stopImmediatePropagation();
    noteLanguage(language);
    const place = new URL(location.href);
    const to = (path) => path.replace(/[^/]*$/, name);
    if (isSite()) place.searchParams.set("path", to(askedPath()));
    else place.pathname = to(place.pathname);
    location.assign(place);
  };
  if (Object.keys(languages).length) globalThis.addEventListener("click", follow, true);
}


async function open(panel, contents, CodeCell) {
  await panel.context.ready;
  const own = panel.context.model.getMetadata("clampbook");
  if (!own) return endOpening();
  panel.addClass("clampbook-book");
  panel.content.widgets.forEach(nameCell);
  showAlone(panel, own.language);
  changeInPlace(own);
  const { path } = panel.context;
  panel.content.node.lang = own.language;
  await speak(own.language);
  tellSecondTab(path);
  const found = looked?.path === path ? looked.isSafe : isSafe(contents, path);
  looked = undefined; // a page that is opened again is looked at again
  if (await found) await run(panel, contents, CodeCell);
  else {
    endOpening();
    say(
      "caution",
      _("This workbook does not start by itself."),
      _("Its folder holds other things. Start it if it is from your instructor."),
      { [_("Start")]: () => run(panel, contents, CodeCell) },
    );
  }
}

function dress() {
  const style = document.createElement("link");
  style.rel = "stylesheet";
  style.href = new URL("page.css", import.meta.url);
  document.head.append(style);
}

export async function activate(app, tracker, CodeCell) {
  dress();
  const { contents } = app.serviceManager;
  const asked = askedPath();
  if (isSite()) {
    await speak(await renew(asked));
    showStep(2, _("your workbook is read."));
    const isFirstVisit = listFolder(contents, asked).catch(() => false);
    tellStorage(contents, asked, isFirstVisit);
    // Before the notebook is opened, which starts the kernel.
    await isFirstVisit;
  }
  await startPython(app.serviceManager, asked).catch(() => {});
  tracker.widgetAdded.connect((_tracker, panel) => open(panel, contents, CodeCell));
  tracker.forEach((panel) => open(panel, contents, CodeCell));
}
