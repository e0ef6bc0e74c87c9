"""Take the README's pictures again: python -m tests.browser.pictures FOLDER.

Makes a practice set, works part of an exercise, and photographs it with its diagram,
and the class report.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from click.testing import CliRunner
from PIL import Image
from playwright.sync_api import sync_playwright

from generator.cli import main
from generator.drawing.wording import short_text
from generator.sets.class_set import open_key, read_class_set
from tests.browser import page as student
from tests.browser.conftest import FLAGS
from tests.browser.server import jupyter_server
from tests.keys import content_of, plan_of

SCALE = 1.5
WINDOW = {"width": 1366, "height": 820}


def take(folder):
    """Write workbook.png and class-report.png into a folder."""
    work = Path(tempfile.mkdtemp())
    CliRunner().invoke(main, ["demo", "--out", str(work / "SET")])
    (work / "state").mkdir()
    with (
        jupyter_server(work / "SET", work / "state") as server,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=list(FLAGS)
        )
        context = browser.new_context(viewport=WINDOW, device_scale_factor=SCALE)
        _photograph_workbook(context.new_page(), server, folder)
        _photograph_report(context.new_page(), server.folder, folder)


def _photograph_workbook(page, server, folder):
    class_set = read_class_set(server.folder)
    record = next(
        record
        for record in content_of([*open_key(class_set)[1].whole])
        if "does nothing" in record["title"]
        and len(record["causes"]) > 15
        and not record["given"]
    )
    path = class_set.workbook_file(record["student"]).relative_to(server.folder)
    student.open_workbook(page, server, path, "notebooks")
    form = student.exercise(page, record["exercise"])
    for asked in record["predictions"]:
        text = short_text(asked["value"], asked["unit"]).replace(".", ",")
        student.record_prediction(form, asked["label"], text)
    plan, left = plan_of(record["reasoning"]), tuple(range(len(record["causes"])))
    for _ in range(2):
        number = plan.best_test(left)
        if number is None:
            break
        test = record["tests"][number]
        student.do_test(form, test["title"], test["sound_outcome"])
        student.record_finding(form, test["outcome"], student.proof_of(test))
        left = plan.after(left, number, test["outcome"])
    page.screenshot(path=folder / "workbook.png")
    _with_fewer_colours(folder / "workbook.png")


def _photograph_report(page, class_folder, folder):
    page.set_viewport_size({"width": 1100, "height": 860})
    page.goto((class_folder / "results" / "class-report.html").as_uri())
    page.screenshot(path=folder / "class-report.png")
    _with_fewer_colours(folder / "class-report.png")


def _with_fewer_colours(path):
    with Image.open(path) as whole:
        whole.quantize(128).save(path, optimize=True)


if __name__ == "__main__":
    take(Path(sys.argv[1]))
