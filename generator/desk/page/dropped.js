// Files that are dropped on the page or chosen: single ones, several, or whole folders.

import { el, newId } from "./dom.js";

async function inFolder(reader) {
  const all = [];
  for (;;) {
    // Browsers give some at a time, Chromium a hundred, and in the end none.
    const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
    if (!some.length) return all;
    all.push(...some);
  }
}

async function filesOf(entry) {
  if (entry.isFile) {
    const file = await new Promise((resolve, reject) => entry.file(resolve, reject));
    // The folders that it lay in may tell whose it is.
    file.place = entry.fullPath.replace(/^\//, "");
    return [file];
  }
  const entries = await inFolder(entry.createReader());
  return (await Promise.all(entries.map(filesOf))).flat();
}

async function filesIn(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...transfer.files];
  return (await Promise.all(entries.map(filesOf))).flat();
}

// A place to drop files on; a click or a key opens the system's own choice of files.
export function dropZone(text, { multiple = false, accept = "", onfiles }) {
  const control = el("input", {
    type: "file",
    id: newId(),
    multiple,
    accept: accept || null,
    onchange: async () => {
      const files = [...control.files];
      // Else the same file, chosen once more, would be no change.
      control.value = "";
      if (files.length) await onfiles(files);
    },
  });
  const zone = el("div.drop", {}, el("label", { for: control.id }, text), control);
  // Unless it is prevented, the browser opens what is dropped in place of the page.
  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    zone.classList.add("over");
  });
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  zone.addEventListener("drop", async (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    const files = await filesIn(event.dataTransfer);
    if (files.length) await onfiles(multiple ? files : files.slice(0, 1));
  });
  return zone;
}
