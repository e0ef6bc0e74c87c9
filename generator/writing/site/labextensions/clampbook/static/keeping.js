// Whether this browser keeps what a student does: the start page and the page of a
// workbook both ask here, and so say the same.

import { _ } from "./texts.js";

const REPLY_MS = 6000;
const ROOM_BYTES = 5e6;
// Chromium tells sites of 10 GiB of room, but of a share of its memory where a window
// is private, until it tells of 10 GiB there, too (blink-dev, Intent to Experiment:
// IncognitoStaticStorageQuota, 2026). No browser says outright that a window is private:
// so every window without a promise is told of, see isPromised.
const OPEN_WINDOW_BYTES = 8 * 2 ** 30;

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

// What may go wrong later, in short and in detail; null where nothing is in sight.
export async function doubt() {
  const { quota, usage } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota === undefined) return null;
  const room = quota - usage;
  if (room < ROOM_BYTES) {
    return {
      short: _("The storage of this browser is nearly full."),
      detail: _(
        "Answers may not be recorded. Free some room, or download your hand-in often.",
      ),
    };
  }
  if (navigator.userAgentData && room < OPEN_WINDOW_BYTES) {
    return {
      short: _("This looks like a private window."),
      detail: _(
        "Such a window (also called incognito) forgets your answers when you close it: " +
          "use a normal window, or download your hand-in before you close it.",
      ),
    };
  }
  return null;
}

// Whether this browser has promised to keep what is stored until a student deletes it.
// Chromium promises it by itself to sites that are used a lot, Firefox when a student
// allows it (https://web.dev/articles/persistent-storage). None was seen to promise it in
// a private window: Chromium 150, Firefox 140.
export async function isPromised() {
  return (await navigator.storage?.persisted?.()) ?? false;
}
