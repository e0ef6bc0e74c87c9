"""Drive one exercise on a page as a student does, by what is written on the page."""

import json
import re
import time
from pathlib import Path
from urllib.parse import unquote, urlsplit

from playwright.sync_api import expect

LAB_READY_MS = 60_000
RECORDED = re.compile(r"Recorded \d\d:\d\d:\d\d")


def plain_text(part):
    """What a part of the page says, with the blanks that a keyboard has."""
    return part.inner_text().replace("\u00a0", " ")


def open_workbook(page, server, path, app="lab/tree"):
    """Open a workbook, which starts by itself.

    Parameters
    ----------
    page : playwright.sync_api.Page
        An empty page.
    server : tests.browser.server.Server
        What serves the workbook.
    path : str
        The notebook, below the served folder.
    app : str
        ``lab/tree``, or ``notebooks`` for Notebook 7.
    """
    page.goto(server.address(path, app))
    wait_for_kernel(page, server, path)


def show_workbook(page, server, path, app="lab/tree"):
    """Open a workbook, unless the page has it already."""
    if not unquote(urlsplit(page.url).path).endswith(f"/{app}/{path}"):
        open_workbook(page, server, path, app)


def wait_for_kernel(page, server, path):
    """Wait until the notebook is drawn and connected to its idle kernel."""
    cells = ".jp-NotebookPanel .jp-Cell"
    page.wait_for_selector(cells, state="attached", timeout=LAB_READY_MS)
    # A cold start shows "idle" before the page is connected, and loses what is run.
    deadline = time.monotonic() + LAB_READY_MS / 1000
    while not server.is_connected(path):
        assert time.monotonic() < deadline, "the kernel did not become idle"
        page.wait_for_timeout(100)
    page.wait_for_selector(
        ".jp-Notebook-ExecutionIndicator[data-status='idle']",
        state="attached",
        timeout=LAB_READY_MS,
    )


def run_all(page):
    """Run all cells by the menu."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.locator(
        ".lm-Menu-item[data-command='runmenu:run-all'],"
        ".lm-Menu-item[data-command='notebook:run-all-cells']"
    ).first.click()


def dismiss_dialog(page):
    """Close a dialog of Jupyter's own, if there is one."""
    dialog = page.locator(".jp-Dialog")
    if dialog.count():
        dialog.locator(".jp-mod-accept").click()


def exercise(page, number):
    """The form of one exercise, once it is drawn and in view."""
    form = page.locator(f".cb-root[aria-label^='Exercise {number} ']")
    form.wait_for(state="attached", timeout=LAB_READY_MS)
    shown = page.locator(".cb-root[data-columns]:visible")
    shown.wait_for(timeout=LAB_READY_MS)
    if not form.is_visible() or page.locator(".cb-cover:visible").count():
        go_to(page, re.compile(rf"^(✓|…)?\s*Exercise {number} · "))
    expect(form).to_be_visible(timeout=LAB_READY_MS)
    return form


def go_to(page, entry):
    """Go to an entry of the list of exercises."""
    shown = page.locator(".cb-root[data-columns]:visible")
    shown.get_by_role("navigation").get_by_role("button", expanded=False).click()
    shown.get_by_role("navigation").get_by_role("button", name=entry).click()


def go_to_beginning(page):
    """Show the text before the exercises."""
    go_to(page, "Beginning and lessons")
    expect(page.locator(".jp-RenderedMarkdown").first).to_be_visible()


def status(form):
    """The form's live region."""
    return form.get_by_role("status")


def record_prediction(form, label, text):
    """Type a number, wait for its echo, record it by Enter; return the echo."""
    group = form.get_by_role("group", name=label, exact=True)
    group.get_by_role("textbox").fill(text)
    echo = group.locator(".cb-echo.cb-right")
    expect(echo).to_contain_text("Read as")
    said = plain_text(echo)
    group.get_by_role("textbox").press("Enter")
    expect(status(form)).to_contain_text(RECORDED)
    expect(form.locator(".cb-answer dt").get_by_text(label, exact=True)).to_be_visible()
    return said.splitlines()[-1]


verify = record_prediction


def type_all(page, texts):
    """Type answers into the fields of all exercises, given by their places.

    Returns when each has its echo, so that it can be recorded.
    """
    # Exercises start one after the other; the last one may still be to come.
    last = page.locator(_FIELDS).nth(max(texts))
    last.wait_for(state="attached", timeout=LAB_READY_MS)
    page.evaluate(_TYPE_ALL, {str(place): text for place, text in texts.items()})
    echoes = page.locator(".cb-echo.cb-right")
    expect(echoes).to_have_count(len(texts), timeout=LAB_READY_MS)


_FIELDS = ".cb-root input[type=text]"
_TYPE_ALL = """(texts) => {
  const fields = document.querySelectorAll(".cb-root input[type=text]");
  for (const [place, text] of Object.entries(texts)) {
    fields[place].value = text;
    fields[place].dispatchEvent(new Event("input"));
  }
}"""


def record_all_at_once(page):
    """Record whatever has an echo, without waiting for one before the next."""
    page.evaluate(
        """() => {
          for (const echo of document.querySelectorAll(".cb-echo.cb-right")) {
            echo.closest("form").requestSubmit();
          }
        }"""
    )


def work_in_two_tabs(one, two, saves):
    """Record in both tabs at once; each shows all that it has recorded itself."""
    texts = {0: "148 mA", 1: "12,2 A"}
    for place, page in enumerate((one, two)):
        type_all(page, {2 * n + place: texts[place] for n in range(saves)})
    for page in (one, two):
        record_all_at_once(page)
    for place, page in enumerate((one, two)):
        own = page.locator(".cb-answer", has_text=f"You wrote “{texts[place]}”")
        expect(own).to_have_count(saves, timeout=LAB_READY_MS)


def take_hint(form, ordinal):
    """Take the next hint; return what the button had said and what the page tells."""
    button = form.get_by_role("button", name=re.compile(f"^Show the {ordinal} hint"))
    offer = plain_text(button)
    told = form.locator(".cb-remarks .cb-remark")
    before = told.count()
    button.click()
    expect(told).to_have_count(before + 1)
    return offer, plain_text(told.last)


def do_test(form, title, expected):
    """Choose a test by its title, say the outcome expected, do it.

    Returns
    -------
    str
        What the meter displays.
    """
    option = option_of(form, title)
    option.get_by_role("radio").first.check()
    option.get_by_role("radio", name=expected, exact=True).check()
    option.get_by_role("button", name="Do this test").click()
    reading = form.locator(".cb-reading").filter(has=_exactly(form, title))
    expect(reading).to_be_visible()
    return plain_text(reading.locator(".cb-display"))


def option_of(form, title):
    """The option of a test, with its place unfolded."""
    option = form.locator(".cb-tests [data-test]").filter(
        has=_exactly(form, short_title(form, title))
    )
    for fold in folded_around(option):
        fold.locator("> summary").click()
    return option


def folded_around(option):
    """What is folded around an option, the outermost first."""
    folds = option.locator("xpath=ancestor::details").all()
    return [fold for fold in folds if fold.get_attribute("open") is None]


def short_title(form, title):
    """What stands in the list for a title, whose end may be said once for all."""
    shared = form.locator(".cb-shared")
    ending = shared.inner_text().removeprefix("* ") if shared.count() else ""
    if ending and title.endswith(f", {ending}"):
        return f"{title.removesuffix(f', {ending}')} *"
    return title


def _exactly(form, text):
    """What holds this text and no more."""
    return form.page.get_by_text(text, exact=True)


def record_finding(form, outcome, statement):
    """Say what the reading shows, and what it proves."""
    finding = form.get_by_role("group", name="Your finding")
    finding.get_by_role("radio", name=outcome, exact=True).check()
    finding.get_by_role("radio", name=statement, exact=True).check()
    finding.get_by_role("button", name="Record finding").click()
    expect(finding).to_be_hidden()


def proof_of(test):
    """The text of the statement that a test of the key proves."""
    return next(
        one["text"] for one in test["statements"] if one["id"] == test["statement"]
    )


def conclude(form, cause, correction):
    """Choose cause and correction by their labels and record them."""
    group = form.get_by_role("group", name="Your conclusion")
    group.get_by_label("Cause").select_option(label=cause)
    group.get_by_label("Correction").select_option(label=correction)
    group.get_by_role("button", name="Record conclusion").click()
    expect(group).to_be_hidden()


def download_hand_in(page, form):
    """Download the hand-in.

    Returns
    -------
    tuple of (str, list of dict)
        The suggested file name, and its lines.
    """
    with page.expect_download() as waiting:
        form.get_by_role("button", name="Download my hand-in").click()
    return read_hand_in(waiting.value)


def read_hand_in(file):
    """The suggested name of a downloaded hand-in, and its lines."""
    text = Path(file.path()).read_text(encoding="utf-8")
    return file.suggested_filename, [json.loads(line) for line in text.splitlines()]
