"""A workbook in Jupyter with the page extension: one page that starts by itself."""

import re
import signal

import nbformat
import pytest
from playwright.sync_api import expect

from tests.browser import page as student
from tests.browser.conftest import ADA, SAVES, WIDE
from tests.workbook.sample import write_workbook


def test_notebook_7_shows_one_page_without_code_or_menus(
    notebook_tab, server, every_kind
):
    """The forms come by themselves; no key or menu of Jupyter's can break the page."""
    page, path = notebook_tab, every_kind.workbook_file(ADA)
    page.set_viewport_size(WIDE)
    student.show_workbook(page, server, path.relative_to(server.folder), "notebooks")
    student.exercise(page, 1)
    expect(page.get_by_role("menuitem", name="Run", exact=True)).to_be_hidden()
    expect(page.locator("html")).to_have_attribute("lang", "en")
    expect(page.locator(".jp-CodeCell .jp-InputArea:visible")).to_have_count(0)
    cells = page.locator(".jp-Notebook .jp-Cell")
    # Cells beyond the view are attached when Jupyter is idle: all of them, in time.
    written = len(nbformat.read(path, as_version=4).cells)
    expect(cells).to_have_count(written)
    student.go_to_beginning(page)
    page.locator(".jp-RenderedMarkdown").first.click()
    for key in ("a", "b", "d", "d", "x", "m", "0", "0", "Control+s"):
        page.keyboard.press(key)
    expect(cells).to_have_count(written)
    expect(page.locator(".jp-Dialog")).to_have_count(0)


# Says something as long as what is said while a workbook opens.
_SAY = """async () => {
  const bars = await import("/lab/extensions/clampbook/static/bars.js");
  bars.tell("Your workbook starts …", "Step 4 of 4: exercise 1 of 4. ".repeat(5));
}"""


def test_bar_over_jupyterlab_leaves_free_where_one_begins(
    lab_tab, server, new_workbook
):
    """A workbook is begun while something is said over its page."""
    page = lab_tab
    student.open_workbook(page, server, new_workbook())
    begin = page.locator(".cb-cover .cb-onward").get_by_role("button")
    begin.wait_for()
    page.evaluate(_SAY)
    bar = page.locator(".clampbook-bar", has_text="Step 4 of 4")
    expect(bar).to_be_visible()
    begin.click()
    expect(page.locator(".cb-cover")).to_have_count(0)
    bar.get_by_role("button", name="OK").click()


@pytest.mark.nightly
def test_two_tabs_of_one_kernel_lose_nothing(window, server, new_workbook):
    """Both tabs get every reply; each takes only those to what it has asked itself."""
    path = new_workbook(SAVES)
    with window.new_page() as one, window.new_page() as two:
        tabs = one, two
        for page in tabs:
            student.open_workbook(page, server, path, "notebooks")
            student.exercise(page, SAVES)
        for page, text in zip(tabs, ("147 mA", "150 mA"), strict=True):
            student.type_all(page, {0: text})
        # Both ask before either is answered: an answer takes the other's form away.
        server.signal_kernel(path, signal.SIGSTOP)
        for page in tabs:
            student.record_all_at_once(page)
        server.signal_kernel(path, signal.SIGCONT)
        said = [student.status(student.exercise(page, 1)) for page in tabs]
        expect(said[0]).to_contain_text(re.compile(r"^.?Recorded \d\d:"))
        expect(said[1]).to_contain_text("recorded already")
        student.work_in_two_tabs(*tabs, SAVES - 1)
        form = student.exercise(tabs[1], 1)
        assert len(student.download_hand_in(tabs[1], form)[1]) == 2 * SAVES + 1


def test_workbook_beside_python_files_waits_to_be_started(notebook_tab, server):
    """Nothing runs by itself where a strange file could stand in for our package.

    That is told in the language of the workbook.
    """
    folder = server.folder / "strange"
    folder.mkdir()
    (folder / "workbook.py").write_text("raise SystemExit", encoding="utf-8")
    path = write_workbook(folder, count=1, language="de").relative_to(server.folder)
    page = notebook_tab
    page.goto(server.address(path, "notebooks"))
    bar = page.locator(".clampbook-bar")
    expect(bar).to_contain_text("nicht von selbst")
    expect(bar).to_have_attribute("lang", "de")
    expect(bar.get_by_role("button", name="Starten")).to_be_visible()
    expect(page.locator(".jp-Notebook")).to_have_attribute("lang", "de")
    expect(page.locator(".cb-root, .jp-OutputArea-output")).to_have_count(0)
