// Whether this browser keeps what a student does: the start page and the page of a
// workbook both ask here, and so say the same.

import { _ } from "./texts.js";

const REPLY_MS = 6000;
const ROOM_BYTES = 5e6;

function within(milliseconds, promise) {
  const late = new Promise((_, no) => {
    setTimeout(() => no(new Error("late")), milliseconds);
  });
  return Promise.race([promise, late]);
}

function opened() {
  return new Promise((yes, no) => {
    const request = indexedDB.open("clampbook-check", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("probe");
    request.onerror = () => no(request.error);
    request.onsuccess = () => yes(request.result);
  });
}

function written(base) {
  return new Promise((yes, no) => {
    const writing = base.transaction("probe", "readwrite");
    writing.objectStore("probe").put(Date.now(), "probe");
    writing.oncomplete = () => yes(base.close());
    writing.onabort = () => no(writing.error);
  });
}

// Why nothing is kept, to stand inside a sentence; empty where everything is in order.
// Python reaches the storage by way of a service worker.
export async function whyNotKept(worker = () => navigator.serviceWorker.ready) {
  if (!globalThis.isSecureContext) {
    return _("this address begins with http://, and browsers keep nothing there");
  }
  let base;
  try {
    base = await within(REPLY_MS, opened());
  } catch {
    return _("this browser is set to keep no data of this site");
  }
  try {
    await within(REPLY_MS, written(base));
  } catch {
    return _("the disk or the storage of this browser is full");
  }
  // Python then has another way to the storage, and needs no worker.
  if (globalThis.crossOriginIsolated) return "";
  try {
    await within(REPLY_MS, worker());
  } catch {
    return _(
      "answers cannot reach the storage of this browser: this is a private window, or " +
        "the browser does not trust the certificate of this address",
    );
  }
  return "";
}

// What a nearly full storage means, in short and in detail; null where there is room.
export async function nearlyFull() {
  const { quota, usage } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota === undefined || quota - usage >= ROOM_BYTES) return null;
  return {
    short: _("The storage of this browser is nearly full."),
    detail: _(
      "Answers may not be recorded. Free some room, or download your hand-in often.",
    ),
  };
}
