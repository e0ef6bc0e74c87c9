"""How fast a workbook opens and records: python -m tests.bench.site.

Openings are compared with the bare host: the same with a notebook that has one
cell, run until its output is there. Both are opened in turn, so that they fare
alike on a machine that has other work. A form is usable when it has read a number
that was typed at once; what comes after it may still be on its way.
"""

import json
import sys
import time
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from generator.site.build import write_site
from tests.browser import page as student
from tests.browser.conftest import FLAGS, chromium, served
from tests.browser.server import jupyter_server
from tests.drawn import SECRET
from tests.workbook.sample import write_workbook

RUNS = 3
STUDENTS = 100
SAVES = 20
EXERCISES = 4  # of a student on the site
READY_MS = 120_000
STAGES = ("a form is there", "it has read a number", "all forms are there")
_FORM = ".cb-root"
_BEGIN = ".cb-cover .cb-onward button"
_FIELD = f"{_FORM} input[type=text]:visible"
_ECHO = ".cb-echo.cb-right"
_OUTPUT = ".jp-OutputArea-output"

# Records what has an echo, one after the other, and measures each until it is told.
_ACKNOWLEDGED = """async () => {
  const times = [];
  for (const echo of document.querySelectorAll(".cb-echo.cb-right")) {
    const form = echo.closest("form");
    const status = form.closest(".cb-root").querySelector(".cb-status");
    status.textContent = "";
    const start = performance.now();
    form.requestSubmit();
    while (!/Recorded/.test(status.textContent)) {
      await new Promise((yes) => setTimeout(yes, 2));
    }
    times.push(performance.now() - start);
  }
  return times;
}"""


def tell(what, figure):
    """Print one line of the table."""
    sys.stdout.write(f"{what:<64} {figure}\n")
    sys.stdout.flush()


def bare_notebook(kernel):
    """A notebook with one cell."""
    cell = {
        "cell_type": "code",
        "id": "one",
        "metadata": {},
        "source": "1",
        "outputs": [],
        "execution_count": None,
    }
    about = {"kernelspec": {"name": kernel, "display_name": "Python"}}
    whole = {"nbformat": 4, "nbformat_minor": 5, "metadata": about, "cells": [cell]}
    return json.dumps(whole)


def spent(work):
    """How long a work takes [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def compare(what, ours, bare):
    """Print the times of our stages beside that of the bare host."""
    host = median(bare)
    for stage, spans in zip(STAGES, zip(*ours, strict=True), strict=True):
        own = median(spans)
        share = f"{own - host:+.1f} s, {100 * (own - host) / own:.0f} % ours"
        tell(f"{what}, until {stage}", f"{own:.1f} s, bare {host:.1f} s: {share}")


def stages(page, opening, forms):
    """Open a workbook; gives when each stage is reached [s]."""
    start, reached = time.perf_counter(), []
    opening()
    page.locator(_FORM).first.wait_for()
    reached.append(time.perf_counter() - start)
    page.locator(_BEGIN).click()
    page.locator(_FIELD).first.fill("148 mA")
    page.locator(_ECHO).first.wait_for()
    reached.append(time.perf_counter() - start)
    page.locator(_FORM).nth(forms - 1).wait_for(state="attached")
    reached.append(time.perf_counter() - start)
    return reached


def bare_span(page, opening):
    """Open the bare notebook and run its cell [s]."""
    start = time.perf_counter()
    opening()
    page.locator(".jp-Notebook .jp-Cell").first.click()
    page.keyboard.press("Shift+Enter")
    page.locator(_OUTPUT).first.wait_for()
    return time.perf_counter() - start


def folder_bytes(folder):
    """Size of all files."""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def build(folder, students, exercises):
    """Write the site of a class; gives the set, its links and the seconds it took."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=f"s{n}", name=f"S {n}") for n in range(students)),
        exercises=exercises,
        # Its first exercise begins with a number, whatever is drawn: nothing is given.
        mode="graded",
    )
    made = write_class_set(folder, request, secret=SECRET)
    links = []
    secret = open_key(made)[0]
    seconds = spent(lambda: links.extend(write_site(made, secret, folder / "site")))
    return made, links, seconds


def build_times(work, students):
    """Size and time of sites; gives the small one."""
    made, links, first_s = build(work / "one", 1, exercises=EXERCISES)
    tell("site of one student; its shared part may be cached", f"{first_s:.1f} s")
    _, _, many_s = build(work / "many", students, exercises=1)
    tell(f"site of {students} students, after that", f"{many_s:.1f} s")
    site, link = made.folder / "site", links[0]
    tell("size of a site of one student", f"{folder_bytes(site) / 1e6:.1f} MB")
    own = (site / "files" / link.code, site / "api" / "contents" / link.code)
    each = sum(map(folder_bytes, own))
    tell("size of a student's part, with four exercises", f"{each / 1e3:.0f} kB")
    return made, link


@contextmanager
def browser_in(playwright, profile):
    """Run a browser process with a storage of its own."""
    context = playwright.chromium.launch_persistent_context(
        profile, executable_path=chromium(), args=list(FLAGS)
    )
    context.set_default_timeout(READY_MS)
    yield context.pages[0]
    context.close()


def acknowledged(page):
    """Record many steps; gives the milliseconds of each."""
    page.locator(_FORM).nth(SAVES - 1).wait_for(state="attached")
    student.type_all(page, dict.fromkeys(range(SAVES), "148 mA"))
    return page.evaluate(_ACKNOWLEDGED)


def tell_acknowledged(host, times):
    """Print how long a click waits."""
    middle, longest = median(times), max(times)
    tell(
        f"{host}, click until it is recorded", f"{middle:.0f} ms, at most {longest:.0f}"
    )


def add_bare(site, link):
    """Put the bare notebook beside a student's workbook; gives its path."""
    (site / "files" / link.code / "bare.ipynb").write_text(bare_notebook("python"))
    listing = site / "api" / "contents" / link.code / "all.json"
    folder = json.loads(listing.read_text())
    path = f"{link.code}/bare.ipynb"
    folder["content"] += [folder["content"][0] | {"name": "bare.ipynb", "path": path}]
    listing.write_text(json.dumps(folder))
    return path


def site_times(playwright, work, made, link, runs):
    """Cold and warm openings of the site, and its acknowledgements."""
    site, ours = made.folder / "site", f"{link.code}/{link.file}"
    bare = add_bare(site, link)
    times = {(path, kind): [] for path in (ours, bare) for kind in ("cold", "warm")}
    with served(site) as address:
        for run in range(runs):
            for path, kind in times:
                profile = work / f"profile-{len(path)}-{run}"
                with browser_in(playwright, profile) as page:
                    opening = partial(page.goto, site_page(address, path))
                    times[path, kind].append(
                        bare_span(page, opening)
                        if path == bare
                        else stages(page, opening, EXERCISES)
                    )
    for kind in ("cold", "warm"):
        compare(f"site, {kind}", times[ours, kind], times[bare, kind])


def site_page(address, path):
    """The page of one notebook of the site."""
    return f"{address}/notebooks/index.html?path={path}"


def site_acknowledged(playwright, work, made, link):
    """How long a click on the site waits."""
    site = made.folder / "site"
    sample = json.loads(write_workbook(work, count=SAVES).read_text("utf-8"))
    sample["metadata"]["kernelspec"]["name"] = "python"
    (site / "files" / link.code / link.file).write_text(json.dumps(sample))
    with served(site) as address, browser_in(playwright, work / "acks") as page:
        page.goto(site_page(address, f"{link.code}/{link.file}"))
        tell_acknowledged("site", acknowledged(page))


def lab_times(playwright, work, runs):
    """Openings of JupyterLab, and its acknowledgements."""
    served_folder, state = work / "served", work / "state"
    ours, bare = [], []
    with ExitStack() as stack:
        for folder in (served_folder, state):
            folder.mkdir()
        server = stack.enter_context(jupyter_server(served_folder, state))
        for run in range(runs):
            folder = served_folder / f"run-{run}"
            folder.mkdir()
            (folder / "bare.ipynb").write_text(bare_notebook("python3"))
            with browser_in(playwright, work / f"lab-bare-{run}") as page:
                path = f"{folder.name}/bare.ipynb"
                opening = partial(student.open_workbook, page, server, path)
                bare.append(bare_span(page, opening))
            path = write_workbook(folder, count=SAVES).relative_to(served_folder)
            with browser_in(playwright, work / f"lab-{run}") as page:
                opening = partial(page.goto, server.address(path))
                ours.append(stages(page, opening, SAVES))
                if run == runs - 1:
                    tell_acknowledged("JupyterLab", acknowledged(page))
    compare("JupyterLab", ours, bare)


def main(runs=RUNS, students=STUDENTS):
    """Print a line for each figure."""
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        work = Path(folder)
        made, link = build_times(work, students)
        site_times(playwright, work, made, link, runs)
        site_acknowledged(playwright, work, made, link)
        lab_times(playwright, work, runs)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
