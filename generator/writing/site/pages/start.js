// The start page: finds a student's workbook by the code of the private link, and tells
// in plain words whether this browser can keep answers.

const CODE = /([0-9a-f]{32})(?![0-9a-f])/;
const WORKER_MS = 8000;
const ROOM_BYTES = 5e6;
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
  return `notebooks/index.html?path=${encodeURIComponent(content[0].path)}`;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const code = CODE.exec(field.value.toLowerCase())?.[1];
  if (!code) {
    say("A code has 32 letters and digits, as it stands in your link.", true);
    return;
  }
  say("Opening …");
  try {
    location.href = await addressOf(code);
  } catch {
    say("There is no workbook with this code here. Look at your link again.", true);
  }
});

// The code stands behind #, so that no server on the way writes it down.
field.value = CODE.exec(location.hash)?.[1] ?? "";
if (field.value) say("Your link is filled in: press the button.");

// ---- checks ----------------------------------------------------------------

function within(milliseconds, promise) {
  const late = new Promise((_, no) => {
    setTimeout(() => no(new Error("no answer")), milliseconds);
  });
  return Promise.race([promise, late]);
}

function check(isRight, text) {
  const item = document.createElement("li");
  item.className = isRight ? "right" : "wrong";
  item.textContent = text;
  list.append(item);
}

function writes() {
  return new Promise((yes, no) => {
    const request = indexedDB.open("clampbook check", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("probe");
    request.onerror = () => no(request.error);
    request.onsuccess = () => {
      const base = request.result;
      const writing = base.transaction("probe", "readwrite");
      writing.objectStore("probe").put(Date.now(), "probe");
      writing.oncomplete = () => yes(base.close());
      writing.onabort = () => no(writing.error);
    };
  });
}

async function checkAddress() {
  const isSecure = globalThis.isSecureContext;
  check(
    isSecure,
    isSecure
      ? "The connection is one on which browsers keep data."
      : "This address begins with http://. Browsers keep nothing there: ask your " +
          "instructor for the https:// address.",
  );
}

async function checkStorage() {
  try {
    await within(WORKER_MS, writes());
    check(true, "This browser keeps data of this site.");
  } catch {
    check(
      false,
      "This browser is set to keep no data of this site. Allow cookies and site data " +
        "for it, or use another browser.",
    );
  }
}

async function checkWorker() {
  if (!globalThis.isSecureContext || globalThis.crossOriginIsolated) return;
  try {
    await navigator.serviceWorker.register("service-worker.js");
    await within(WORKER_MS, navigator.serviceWorker.ready);
    check(true, "Answers reach its storage.");
  } catch {
    check(
      false,
      "Answers cannot reach its storage (no service worker): this is a private window, " +
        "or this browser does not trust the certificate of this address.",
    );
  }
}

async function checkRest() {
  if (typeof WebAssembly !== "object") {
    check(false, "This browser is too old: it cannot run Python (no WebAssembly).");
  }
  const { quota, usage } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota !== undefined && quota - usage < ROOM_BYTES) {
    check(false, "The storage of this browser is nearly full. Free some room first.");
  }
}

async function checkAll() {
  list.replaceChildren();
  await Promise.all([checkAddress(), checkStorage(), checkWorker(), checkRest()]);
  if (!list.querySelector(".wrong")) return;
  check(
    false,
    "You can look at your workbook here, but what you do in it would be lost when you " +
      "close it: download your hand-in first.",
  );
}

checkAll();
