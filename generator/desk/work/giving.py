"""A set given out: links, sheet of codes, site, class network, paper."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import asdict
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from generator.desk.line import Line
from generator.desk.work.asked import Asked
from generator.paper.link_sheet import link_sheet
from generator.serving.certificate import reached_at
from generator.serving.tried import TestLink
from generator.serving.web import Place
from generator.site.links import Link, links_csv, site_address
from generator.site.students import private_links
from generator.week.machine import checks
from generator.week.on_paper import paper
from generator.week.website import serve, site
from workbook.texts import _

_LOOK_S = 0.5
_ALL = "0.0.0.0"  # noqa: S104 - asked for by the button that serves a class


def _works(_asked: Asked, _line: Line) -> dict[str, Any]:
    """Look what this machine can do, and why it cannot do the rest."""
    found = {check.name: check for check in checks()}
    parts, pdf = found["site's parts"], found["PDF"]
    builds = found["node"].is_sound and found["npm"].is_sound
    address = reached_at(_ALL)
    return {
        "site": {"works": parts.is_sound or builds, "why": parts.found},
        "pdf": {"works": pdf.is_sound, "why": pdf.found},
        "network": None if ip_address(address).is_loopback else address,
    }


def _links(asked: Asked) -> list[Link]:
    """Give the links of a class where the site is; raises where that is nowhere."""
    opened, address = asked.opened(), site_address(asked.text("address"))
    return [one.at(address) for one in private_links(opened.class_set, opened.secret)]


def _link_table(asked: Asked, _line: Line) -> dict[str, str]:
    """Write the links as a table, in the separator that spreadsheets here take."""
    separator = ";" if asked.text("separator") == ";" else ","
    return asked.download("links.csv", links_csv(_links(asked), separator))


def _code_sheet(asked: Asked, _line: Line) -> dict[str, str]:
    """Write a page of codes to print and to cut."""
    text = link_sheet(_links(asked), asked.folder.name)
    return asked.download("codes.html", text.encode())


def _site(asked: Asked, line: Line) -> dict[str, Any]:
    """Write the site, with links where its address is known already."""
    links = [asdict(link) for link in _links(asked)] if "address" in asked else []
    written = site(asked.opened(), None, line.progress)
    return {"folder": str(written.folder), "links": links}


def _served(asked: Asked, line: Line) -> None:
    """Serve the site on the class network until it is stopped."""
    place = Place(host=_ALL, port=asked.number("port", 0, 65535))
    served = serve(asked.opened(), place, line.progress)
    with served.server as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        line.tell(
            address=served.address,
            links=[asdict(link) for link in served.links],
            authority=served.authority
            and asked.download(served.authority.name, served.authority.read_bytes()),
            supervision=served.supervision,
        )
        try:
            _tell_tried(served.test_link, line)
        finally:
            server.shutdown()


def _tell_tried(link: TestLink, line: Line) -> None:
    """Tell of each device that opens the test link; ends by raising `Stopped`."""
    # Only what is new is told: each telling makes the page draw its table anew.
    told = 0
    while True:
        line.wait(_LOOK_S)
        if len(link.tried) != told:
            told = len(link.tried)
            line.tell(tried=to_builtins(link.tried))


def _paper(asked: Asked, line: Line) -> dict[str, Any]:
    """Write all pages; gives those to open, PDFs in place of pages where there are."""
    opened = asked.opened()
    made = paper(opened, line.progress)
    pages = [path for path in made.written if path.suffix in (".html", ".pdf")]
    shown = [
        path
        for path in pages
        if path.suffix == ".pdf" or path.with_suffix(".pdf") not in pages
    ]
    names = dict(opened.class_set.roster)
    folder = opened.class_set.folder
    return {
        "printed": made.is_printed,
        "written": [
            {"place": path.relative_to(folder).as_posix(), "text": _title(path, names)}
            for path in shown
        ],
    }


def _title(path: Path, names: Mapping[str, str]) -> str:
    if path.stem == "handout":
        name = names.get(path.parent.name, path.parent.name)
        return _("Handout of {name}").format(name=name)
    is_slips = path.stem.startswith("reading-slips")
    title = _("Reading slips") if is_slips else _("Teacher’s guide")
    # Of a large class there are several.
    number = path.stem.rpartition("-")[2]
    return f"{title} {number}" if number.isdigit() else title


WORK: Mapping[str, Callable[[Asked, Line], Any]] = {
    "what-works": _works,
    "link-table": _link_table,
    "code-sheet": _code_sheet,
    "site": _site,
    "serve": _served,
    "paper": _paper,
}
