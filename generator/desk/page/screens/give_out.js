// Give out: over the class network, by a web server, or on paper, and what works here.

import { download, shown } from "../api.js";
import { button, choice, el, field, fill, note, table } from "../dom.js";
import { _, language } from "../texts.js";
import { faultsOf, underWay, run } from "../work.js";

const PORT = 8460; // as the command `serve` has it, so that links stay the same

// ---- links: list, mail merge, codes to cut ---------------------------------

function linkTools(set, address, links) {
  const place = el("div", {});
  const separator = choice(
    { ";": _("semicolons, as in German spreadsheets"), ",": _("commas") },
    language() === "de" ? ";" : ",",
  );
  const asked = () => ({ address, separator: separator.value });
  const offer = (work, show, text) => async () => {
    const made = await run(work, { set: set.name, asked: asked(), place });
    if (made) {
      fill(place, el("p", {}, el("a", { href: download(made, show), target: show ? "_blank" : null, rel: "noopener" }, text)));
      place.querySelector("a").focus();
    }
  };
  return [
    el(
      "div.buttons",
      {},
      button(_("Sheet of codes to cut"), offer("code-sheet", true, _("Open the sheet, and print it"))),
      button(_("Table for mail merge"), offer("link-table", false, _("Save the table"))),
    ),
    field(_("Separator of the table"), separator),
    place,
    note("caution", _("Whoever has a student’s link opens that workbook: give each only their own.")),
    table(
      _("A link for each student"),
      [_("Name"), _("Id"), _("Link")],
      links.map((link) => [link.name, link.student, el("code", {}, link.address)]),
    ),
  ];
}

// ---- the class network -----------------------------------------------------

function tried(devices) {
  const words = { true: "✓", false: "✗" };
  return table(
    _("Devices that opened the test link"),
    [_("Device"), _("Keeps answers"), _("Runs Python"), _("So")],
    devices.map((one) => [
      one.device,
      words[one.keeps],
      words[one.runs],
      one.keeps && one.runs
        ? _("works here")
        : _("does not work here: {why}").replace("{why}", one.why || _("the browser is too old")),
    ]),
  );
}

function network(set) {
  const place = el("div", {});
  const told = el("div", {});
  let address = "";
  function watch(job) {
    if (!job.told.address) return;
    if (address !== job.told.address) {
      address = job.told.address;
      draw(job.told);
    }
    const devices = job.told.tried ?? [];
    const seen = told.querySelector(".tried");
    if (seen.dataset.count !== String(devices.length)) {
      seen.dataset.count = String(devices.length);
      fill(seen, devices.length ? tried(devices) : el("p", {}, _("No device has opened the test link yet.")));
    }
  }
  function draw({ authority, links, supervision }) {
    const test = `${address}/#try`;
    fill(
      told,
      note("right", _("Students can open their links at {address}, as long as this computer is on and the desk runs.").replace("{address}", address)),
      supervision &&
        note("news", _("The room of this examination, for you alone:"), " ", el("a", { href: supervision, target: "_blank", rel: "noopener" }, supervision)),
      el("h3", {}, _("Try it with one device first")),
      el("p", {}, _("Open this on a student’s device. It says there, and here, whether that device will do:"), " ", el("code", {}, test)),
      el("div.tried", { "aria-live": "polite" }),
      authority &&
        note(
          "caution",
          _("Browsers do not know this computer, so they warn, and may keep no answers. That ends where this file is installed on the students’ devices, as a certificate authority that is trusted:"),
          " ",
          el("a", { href: download(authority) }, authority.name),
          el("p", {}, _("Managed tablets refuse that: then take the school’s own web server, or paper.")),
        ),
      linkTools(set, address, links),
    );
  }
  async function serve(begun = null) {
    start.disabled = true;
    address = "";
    await run("serve", {
      set: set.name,
      asked: { port: PORT },
      place,
      watch,
      begun,
      going: (job) => (job.told.address ? _("Students can open their workbooks now.") : null),
      stopText: _("Stop serving"),
      stopped: _("Students are not served any more. Their links are the same next time."),
    });
    start.disabled = false;
    fill(told);
  }
  const start = button(_("Start serving"), () => serve(), "button.main");
  const node = el(
    "section",
    {},
    el("h2", {}, _("From this computer, over the class network")),
    el("p", {}, _("Students open their links in a browser; nothing is installed, and nothing of theirs runs on this computer.")),
    el("div.buttons", {}, start),
    place,
    told,
  );
  return { node, serve };
}

// ---- a web server ----------------------------------------------------------

function webServer(set) {
  const address = el("input", { type: "url", placeholder: "https://class.school.example" });
  const place = el("div", {});
  const told = el("div", {});
  async function write() {
    fill(told);
    const made = await run("site", { set: set.name, asked: { address: address.value }, place });
    if (!made) return;
    fill(
      told,
      note("right", _("The site is in {folder}. Upload what is in that folder to your web server.").replace("{folder}", made.folder)),
      made.links.length
        ? linkTools(set, address.value, made.links)
        : note("news", _("Fill in the address and press again to get the links.")),
    );
  }
  return el(
    "section",
    {},
    el("h2", {}, _("By a web server of your school")),
    el("p", {}, _("It needs https: browsers keep no answers on plain http.")),
    field(_("Address of the site"), address, _("It begins every link.")),
    el("div.buttons", {}, button(_("Write the site"), write)),
    place,
    told,
  );
}

// ---- paper -----------------------------------------------------------------

function paper(set) {
  const place = el("div", {});
  const told = el("div", {});
  async function write() {
    const made = await run("paper", { set: set.name, place });
    if (!made) return;
    const links = made.written.map((one) => el("li", {}, el("a", { href: shown(set.name, one.place), target: "_blank", rel: "noopener" }, one.text)));
    fill(
      told,
      made.printed ? null : note("caution", _("No PDF could be made here. Print these pages from the browser.")),
      el("ul", {}, links),
    );
  }
  return el(
    "section",
    {},
    el("h2", {}, _("On paper")),
    el("p", {}, _("A handout for each student, slips with the readings for you to give one by one, and a guide with all answers.")),
    el("div.buttons", {}, button(_("Write the pages"), write)),
    place,
    told,
  );
}

// ---- what works here -------------------------------------------------------

function works({ site, pdf, network: reached }) {
  const say = (isSo, text) => note(isSo ? "right" : "caution", text);
  return el(
    "section",
    {},
    el("h2", {}, _("What works here")),
    say(site.works && reached, !site.works
      ? site.why
      : reached
        ? _("Over the class network: this computer is reached at {address}.").replace("{address}", reached)
        : _("This computer is in no network: students cannot reach it.")),
    say(site.works, site.works ? _("By a web server: the site can be written here.") : site.why),
    say(pdf.works, pdf.works ? _("On paper: PDFs can be made here.") : pdf.why),
  );
}

export async function draw(body, { set }) {
  const look = el("div", {});
  const served = network(set);
  fill(body, look, served.node, webServer(set), paper(set));
  // After a reload the server goes on, and is found again.
  const begun = await underWay("serve", set.name);
  if (begun) served.serve(begun);
  try {
    const found = await run("what-works", { place: look });
    if (found) fill(look, works(found));
  } catch (error) {
    fill(look, faultsOf(error));
  }
}
