// Opens a workbook as one page without code: runs its cells by itself, hides what a
// student does not need, and says when nothing would be kept. The same file serves
// JupyterLab 4, Notebook 7 and the static site. It is written by hand in the shape that
// they load (a module federation container), so that it needs no build.

(() => {
  const ID = "clampbook:page";
  const OURS = /^import workbook; workbook\.exercise\(\d+\)$/;
  // What Python could import in place of our own package, beside a strange notebook.
  const IMPORTABLE = /\.(py|pyc|pyd|so|pth|zip|egg)$/i;
  const START_MS = 60000;
  const KEEPING = new URL("keeping.js", document.currentScript.src).href;
  const KEEP = Symbol.for("clampbook.not-kept"); // read by workbook/form.js

  const STYLE = `
.clampbook-book .jp-CodeCell > .jp-Cell-inputWrapper,
.clampbook-book :is(.jp-InputPrompt, .jp-OutputPrompt, .jp-Collapser),
.clampbook-book :is(.jp-cell-toolbar, .jp-cell-menu, .jp-OutputArea-promptOverlay),
.clampbook-book .jp-Notebook-footer { display: none !important; }
.clampbook-book .jp-Cell { border-color: transparent !important; }
.clampbook-book .jp-Notebook .jp-Cell { padding-left: 4px; padding-right: 4px; }
.clampbook-book .jp-RenderedMarkdown { max-width: 48rem; }
.clampbook-book .jp-RenderedMarkdown table { max-width: 100%; margin-inline: 0; }
.clampbook-book .jp-RenderedMarkdown :is(th, td) {
  max-width: none;
  text-align: start;
  white-space: normal;
  overflow-wrap: break-word;
}
@media (max-width: 480px) {
  .clampbook-book .jp-RenderedMarkdown table {
    width: 100%;
    table-layout: fixed;
    font-size: 0.8em;
  }
  .clampbook-book .jp-RenderedMarkdown :is(th, td) {
    padding: 0.25em;
    overflow-wrap: anywhere;
    hyphens: auto;
  }
}
.clampbook-book .jp-RenderedMarkdown img { max-width: 100%; }
.clampbook-alone :is(#top-panel-wrapper, #menu-panel-wrapper),
.clampbook-alone .jp-NotebookPanel-toolbar { display: none !important; }
.clampbook-alone .clampbook-book .jp-Notebook .jp-Cell {
  padding-inline: max(4px, calc(50% - 24rem));
}
.clampbook-alone #main-panel {
  top: var(--clampbook-bars, 0px) !important;
  height: calc(100% - var(--clampbook-bars, 0px)) !important;
}
.clampbook-alone .jp-NotebookPanel > :not(.jp-Toolbar):last-child {
  top: 0 !important;
  height: 100% !important;
}
.clampbook-bars {
  position: fixed;
  z-index: 20000;
  right: 1rem;
  bottom: 2.2rem;
  max-width: min(34rem, calc(100% - 2rem));
  box-shadow: 0 2px 10px #0005;
  font: 15px/1.4 system-ui, sans-serif;
}
.clampbook-alone .clampbook-bars { inset: 0 0 auto; max-width: none; box-shadow: none; }
.clampbook-bar {
  display: flex;
  gap: 0.6rem;
  align-items: flex-start;
  padding: 0.45rem 0.9rem;
  border-bottom: 1px solid #0003;
  background: #e8f0f9;
  color: #14304d;
}
.clampbook-bar > span { flex: 1; }
.clampbook-bar.clampbook-caution { background: #fff1cf; color: #533400; }
.clampbook-bar.clampbook-wrong { background: #a31b17; color: #fff; font-weight: 600; }
.clampbook-bar button {
  min-height: 1.8rem;
  padding: 0.1rem 0.7rem;
  border: 1px solid currentcolor;
  border-radius: 4px;
  background: transparent;
  color: inherit;
  font: inherit;
  cursor: pointer;
}`;

  // ---- what is said above the page -----------------------------------------

  function bars() {
    let place = document.querySelector(".clampbook-bars");
    if (!place) {
      place = document.createElement("div");
      place.className = "clampbook-bars";
      place.setAttribute("role", "status");
      document.body.append(place);
      new ResizeObserver(() => {
        const height = `${place.offsetHeight}px`;
        document.body.style.setProperty("--clampbook-bars", height);
        globalThis.dispatchEvent(new Event("resize"));
      }).observe(place);
    }
    return place;
  }

  // Each action is a button, which removes what was said.
  function say(tone, text, actions = {}) {
    const bar = document.createElement("div");
    bar.className = `clampbook-bar clampbook-${tone}`;
    const words = document.createElement("span");
    words.textContent = text;
    bar.append(words);
    for (const [label, act] of Object.entries(actions)) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = label;
      button.setAttribute("data-lm-suppress-shortcuts", "true");
      button.addEventListener("click", () => {
        bar.remove();
        act();
      });
      bar.append(button);
    }
    bars().append(bar);
    return bar;
  }

  // ---- is anything kept? ---------------------------------------------------

  const isSite = () => Boolean(document.querySelector("[data-jupyter-lite-root]"));

  async function tellStorage(contents, path) {
    const { whyNotKept, doubt } = await import(KEEPING);
    const reason = await whyNotKept();
    if (reason) {
      globalThis[KEEP] = reason;
      // The browser then asks before it closes a page in which something was done.
      globalThis.addEventListener("beforeunload", (event) => event.preventDefault());
      say(
        "wrong",
        `NOTHING IS KEPT when you close this page, because ${reason}. Tell your ` +
          "instructor. If you work all the same, press “Download my hand-in” before " +
          "you close it.",
        { "Download what was kept before": () => handIn(contents, path) },
      );
    }
    const text = reason ? "" : await doubt();
    if (text) say("caution", text, { OK: () => {} });
    if (!reason) noteWorker();
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

  // The hand-in as workbook/journal.py makes it, without Python: for when that does not
  // start.
  async function handIn(contents, path) {
    const folder = folderOf(path);
    const { metadata } = (await contents.get(path, { content: true })).content;
    const { set_id, student, edition, mode } = metadata.clampbook;
    const name = `${set_id}-${student}`;
    const { content } = await contents.get(folder, { content: true });
    const files = content.filter((each) => each.name.startsWith(`journal-${name}-`));
    const options = { type: "file", format: "text", content: true };
    const texts = await Promise.all(
      files.map(async (each) => (await contents.get(each.path, options)).content),
    );
    const signs = [`"edition":${edition},`, `"student":${JSON.stringify(student)}`];
    const isOwn = (text) => signs.every((sign) => text.split("\n", 1)[0].includes(sign));
    // Without a last line that was cut short while it was written.
    const lines = (text) => text.slice(0, text.lastIndexOf("\n") + 1);
    const own = { kind: "hand-in", format: 1, set_id, student, edition, mode };
    const header = `${JSON.stringify({ ...own, software: "page" })}\n`;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([header, ...texts.filter(isOwn).map(lines)]));
    link.download = `hand-in-${name}.jsonl`;
    link.click();
  }

  // A lock is held while the page is open, so that a second tab can tell.
  function tellSecondTab(path) {
    navigator.locks?.request(`clampbook ${path}`, { ifAvailable: true }, (lock) => {
      if (lock) return new Promise(() => {});
      say(
        "caution",
        "This workbook is open in another tab or window, too. Nothing is lost, but " +
          "close one of them, so that you see all your steps in one place.",
        { OK: () => {} },
      );
      return undefined;
    });
  }

  // ---- opening -------------------------------------------------------------

  const folderOf = (path) => path.split("/").slice(0, -1).join("/");

  // Web servers that say nothing of it let browsers keep files for days: a new edition
  // has to be seen at once, and no lock used that lists packages of an older site.
  function renew(path) {
    const names = [`files/${path}`, "static/pyodide/pyodide-lock.json"];
    const asked = names.map((name) => fetch(`../${name}`, { cache: "no-cache" }));
    return Promise.allSettled(asked);
  }

  // The site lists nobody, but a kernel starts only in a folder that is listed. So the
  // entry of a student's own folder is made in the student's browser.
  async function listFolder(contents, path) {
    const folder = folderOf(path);
    if (!folder || !/\.ipynb$/.test(path)) return;
    try {
      await contents.get(folder, { content: false });
    } catch {
      await contents.get(path, { content: false });
      await contents.save(folder, {
        type: "directory",
        format: "json",
        content: null,
        name: folder.split("/").pop(),
        path: folder,
      });
      say(
        "news",
        "Your first time with this workbook in this browser. What you record stays in " +
          "this browser on this computer. In a private window it is gone when you " +
          "close it.",
        { OK: () => {} },
      );
    }
  }

  // Nothing starts by itself beside files that could stand in for our package.
  async function isSafe(contents, path) {
    if (isSite()) return true;
    const { content } = await contents.get(folderOf(path));
    return content.every(
      ({ name, type }) => type !== "directory" && !IMPORTABLE.test(name),
    );
  }

  async function run(panel, contents, CodeCell) {
    let bar = say("news", "Your workbook starts. This takes a few seconds …");
    const late = setTimeout(() => {
      bar.remove();
      bar = say(
        "wrong",
        "The workbook does not start. Reload this page; if that does not help, try " +
          "another browser or tell your instructor. What you recorded is kept.",
        {
          "Download it": () => handIn(contents, panel.context.path),
          Reload: () => location.reload(),
        },
      );
    }, START_MS);
    await panel.sessionContext.ready;
    await panel.sessionContext.session?.kernel?.info;
    const cells = panel.content.widgets.filter(
      (cell) => cell.model.type === "code" && OURS.test(cell.model.sharedModel.source),
    );
    for (const cell of cells) await CodeCell.execute(cell, panel.sessionContext);
    clearTimeout(late);
    bar.remove();
    // The frame around the first cell tells a student nothing.
    if (document.activeElement?.matches(".jp-Cell")) document.activeElement.blur();
  }

  // Notebook 7 and the site have a page for one notebook; JupyterLab has tabs.
  function showAlone(panel) {
    if (!document.getElementById("menu-panel-wrapper")) return;
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

  async function open(panel, contents, CodeCell) {
    await panel.context.ready;
    if (!panel.context.model.getMetadata("clampbook")) return;
    panel.addClass("clampbook-book");
    showAlone(panel);
    const { path } = panel.context;
    tellSecondTab(path);
    if (await isSafe(contents, path)) await run(panel, contents, CodeCell);
    else {
      say(
        "caution",
        "This workbook does not start by itself, because its folder holds other " +
          "things. Start it if it is from your instructor.",
        { Start: () => run(panel, contents, CodeCell) },
      );
    }
  }

  // ---- how Jupyter takes it in ---------------------------------------------

  async function shared(scope, name) {
    const [version] = Object.values(scope[name]);
    return (await version.get())();
  }

  let scope;

  async function plugin() {
    const { INotebookTracker } = await shared(scope, "@jupyterlab/notebook");
    const { CodeCell } = await shared(scope, "@jupyterlab/cells");
    const activate = async (app, tracker) => {
      const style = document.createElement("style");
      style.textContent = STYLE;
      document.head.append(style);
      const { contents } = app.serviceManager;
      const asked = new URL(location.href).searchParams.get("path") ?? "";
      if (isSite()) {
        tellStorage(contents, asked);
        // Before the notebook is opened, which starts the kernel.
        await renew(asked);
        await listFolder(contents, asked).catch(() => {});
      }
      tracker.widgetAdded.connect((_, panel) => open(panel, contents, CodeCell));
      tracker.forEach((panel) => open(panel, contents, CodeCell));
    };
    return { id: ID, autoStart: true, requires: [INotebookTracker], activate };
  }

  globalThis._JUPYTERLAB = globalThis._JUPYTERLAB ?? {};
  globalThis._JUPYTERLAB.clampbook = {
    init: (given) => {
      scope = given;
    },
    get: async () => {
      const made = await plugin();
      return () => ({ __esModule: true, default: made });
    },
  };
})();
