// How JupyterLab 4, Notebook 7 and the static site take in page.js: by hand in the shape
// that they load (a module federation container), so that it needs no build.

(() => {
  const PAGE = new URL("page.js", document.currentScript.src).href;
  let scope;

  async function shared(name) {
    const [version] = Object.values(scope[name]);
    return (await version.get())();
  }

  async function plugin() {
    const { activate } = await import(PAGE);
    const { INotebookTracker } = await shared("@jupyterlab/notebook");
    const { CodeCell } = await shared("@jupyterlab/cells");
    return {
      id: "clampbook:page",
      autoStart: true,
      requires: [INotebookTracker],
      activate: (app, tracker) => activate(app, tracker, CodeCell),
    };
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
