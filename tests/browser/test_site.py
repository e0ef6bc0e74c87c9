"""The static site in Chromium with every other host cut off, on a plain web server."""

import json
import signal
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from answer_keys.gradebook.gradebook import Gradebook
from generator.cli import main
from generator.sets.class_set import open_key
from tests.browser import axe, key_work
from tests.browser import page as student
from tests.browser.conftest import ADA, BRUNO, SAVES
from tests.browser.others import HERE, NAME
from tests.browser.site import READY_MS, form_of, open_by_link, signal_browser
from tests.keys import content_of

STORAGE_REQUESTS = 70  # about 40 are made until the forms are there
FIRST_BYTES = 17_000_000
SECOND_BYTES = 300_000
PRIVATE = "private window"


def _bars(page):
    return page.locator(".clampbook-bar")


def test_student_works_comes_back_hands_in_and_is_graded(
    class_set, links, wire, profile, tmp_path
):
    """From the private link to the marks: nothing is lost, not by a killed browser.

    On our own server, whose policy for pages is narrow, yet refuses nothing.
    """
    address, said = wire.address, []
    record = content_of(next(open_key(class_set)[1].whole))
    first, *rest = key_work.planned(record, key_work.all_causes(record))
    asked, moved = [], wire.moved
    with profile() as context:
        context.on("request", lambda request: asked.append(request.url))
        page = context.pages[0]
        page.on("console", lambda message: said.append(message.text))
        form = open_by_link(page, links[ADA], address)
        assert wire.moved - moved < FIRST_BYTES
        # Imports would be some hundred looks into the storage, each taking its time.
        assert sum(url.endswith("/api/drive") for url in asked) < STORAGE_REQUESTS
        _see_that_a_private_window_is_told_of(page)
        expect(page.locator(".jp-CodeCell .jp-InputArea:visible")).to_have_count(0)
        key_work.predict(form, record)
        key_work.do(form, first)
        signal_browser(tmp_path / "profile", signal.SIGKILL)
    with profile() as context:
        page = context.pages[0]
        page.on("console", lambda message: said.append(message.text))
        moved = wire.moved
        form = open_by_link(page, links[ADA], address)
        # Heads of answers that nothing has changed.
        assert wire.moved - moved < SECOND_BYTES
        expect(_bars(page)).to_have_count(0)
        expect(form.locator(".cb-answer")).to_have_count(len(record["predictions"]))
        for test in rest:
            key_work.do(form, test)
        key_work.finish(form, record)
        file, lines = student.download_hand_in(page, form)
        assert [text for text in said if "Content Security Policy" in text] == []
        context.add_init_script(_FULL)
        page.on("dialog", lambda dialog: dialog.accept())
        assert _handed_in_without_python(page)[1:] == lines[1:]
    text = "".join(json.dumps(line) + "\n" for line in lines)
    (class_set.handed_in / file).write_text(text, encoding="utf-8")
    assert CliRunner().invoke(main, ["grade", str(class_set.folder)]).exit_code == 0
    with Gradebook(class_set.results / "gradebook.sqlite") as book:
        marks = book.gradings(class_set.set_id, ADA)[-1].exercises[0].steps
    assert [step.mark for step in marks] == pytest.approx([s.out_of for s in marks])


def _see_that_a_private_window_is_told_of(page):
    """In every window, once: no browser lets a page know which ones are private."""
    expect(_bars(page)).to_contain_text("Your answers stay in this browser only.")
    bar = page.locator(".clampbook-caution")
    expect(bar).to_have_count(1)
    expect(bar).to_contain_text(PRIVATE)
    expect(bar).to_contain_text("press “Download my hand-in” before you close")


_FULL = (
    "void (IDBObjectStore.prototype.put = () => {"
    " throw new DOMException('full', 'QuotaExceededError'); })"
)


def _handed_in_without_python(page):
    """What the page hands in itself where Python cannot start."""
    page.reload()
    bar = _bars(page).filter(has_text="the storage of this browser is full")
    with page.expect_download(timeout=READY_MS) as waiting:
        bar.get_by_role("button", name="Download what was kept").click(timeout=READY_MS)
    lines = Path(waiting.value.path()).read_text("utf-8").splitlines()
    return [json.loads(line) for line in lines]


@pytest.mark.release
@pytest.mark.nightly
def test_full_storage_loses_nothing_and_is_told(class_set, links, address, profile):
    """A save that never returns is no silence, and the hand-in still comes."""
    with profile() as context:
        page = context.pages[0]
        form = open_by_link(page, links[BRUNO], address)
        _record(form, "148 mA")
        lines = student.download_hand_in(page, form)[1]
        page.evaluate(_FULL)
        form = form_of(page, 2)
        _send(form, "148 mA")
        expect(student.status(form)).to_contain_text("NOT recorded")
        expect(student.status(form)).to_contain_text("reload this page")
        assert len(student.download_hand_in(page, form)[1]) == len(lines)
        context.add_init_script(_FULL)
        page.on("dialog", lambda dialog: dialog.accept())
        assert _handed_in_without_python(page)[1:] == lines[1:]
        _publish_again(class_set.folder / "site" / "files" / links[BRUNO].code)
        (header,) = _handed_in_without_python(page)
        assert header["edition"] == 2


def _send(form, text):
    """Type a number and send it off once its echo is there."""
    field = form.get_by_role("textbox").first
    field.fill(text)
    expect(form.locator(".cb-echo.cb-right")).to_contain_text("Read as")
    field.press("Enter")


def _record(form, text):
    _send(form, text)
    expect(student.status(form)).to_contain_text(student.RECORDED)


def _publish_again(folder):
    """Replace the workbook by a new edition, at the same address."""
    (path,) = folder.glob("*.ipynb")
    notebook = json.loads(path.read_text("utf-8"))
    notebook["metadata"]["clampbook"]["edition"] = 2
    path.write_text(json.dumps(notebook), encoding="utf-8")


@pytest.mark.release
@pytest.mark.nightly
def test_two_tabs_of_one_workbook_lose_nothing(links, address, profile):
    """Saves in each of two tabs at once are all there, and the second is told."""
    with profile() as context:
        one = context.pages[0]
        open_by_link(one, links[BRUNO], address)
        # Only now: a page that is behind another one is not in focus.
        two = context.new_page()
        open_by_link(two, links[BRUNO], address)
        expect(_bars(two)).to_contain_text("open in another tab")
        student.work_in_two_tabs(one, two, SAVES)
        two.reload()
        form = form_of(two)
        expect(two.locator(".cb-answer")).to_have_count(2 * SAVES, timeout=READY_MS)
        assert len(student.download_hand_in(two, form)[1]) - 3 == 2 * SAVES


def test_no_listing_names_a_student(class_set, links, address, fresh_page):
    """Whoever does not have a link finds no folder, whatever listing is asked for."""
    site = class_set.folder / "site"
    codes = [link.code for link in links.values()]
    shown = [
        path.read_text("utf-8")
        for path in site.rglob("*")
        if path.suffix in {".html", ".json", ".txt"} and path.parent.name not in codes
    ]
    assert not [text for text in shown for code in codes if code in text]
    for folder in ("files/", "api/", "api/contents/"):
        fresh_page.goto(f"{address}/{folder}")
        body = fresh_page.locator("body")
        expect(body).to_have_text("There is nothing to see here.")


def test_start_page_knows_a_wrong_code_and_tells_what_becomes_of_answers(
    links, address, fresh_page
):
    """A mistyped link is told at once; a private window is told of in every one."""
    page = fresh_page
    page.goto(address)
    field = page.get_by_label("Your private link or its code")
    field.fill(links[ADA].code[::-1])
    field.press("Enter")
    said = page.locator("#said")
    expect(said).to_contain_text("There is no workbook with this code")
    field.fill("week 3")
    field.press("Enter")
    expect(said).to_contain_text("A code has 32 letters and digits")
    expect(page.locator("#checks li")).to_have_count(1)
    expect(page.locator("#checks .right")).to_contain_text(PRIVATE)


def test_link_opens_the_workbook_and_says_how_far_it_is(links, address, browser):
    """Without a click; ours is drawn before any script of the page has run.

    What comes after it is held back here, so that it can be seen.
    """
    with browser.new_context(locale="de-DE") as context:
        page = context.new_page()
        page.route("**/build/**", lambda route: route.abort())
        page.goto(links[ADA].at(address).address)
        opening = page.locator("#clampbook-opening")
        expect(opening).to_contain_text("Your workbook opens")
        expect(opening).to_contain_text("Step 1 of 4")
        assert opening.get_attribute("lang") == "en"
        assert axe.faults_at_all_widths(page, "#clampbook-opening") == []
        page.go_back()
        assert page.url == "about:blank"


@pytest.mark.parametrize(
    "theme",
    [pytest.param("light", marks=pytest.mark.nightly), "dark"],
)
def test_start_page_keeps_nobody_out(address, browser, theme):
    """No fault against WCAG 2.2 AA, in either theme, and nothing to scroll sideways."""
    size = {"width": 320, "height": 800}
    with browser.new_context(viewport=size, color_scheme=theme) as context:
        page = context.new_page()
        page.goto(address)
        expect(page.locator("#checks li[class]")).to_be_visible()
        assert axe.faults_at_all_widths(page, "html") == []
        assert page.evaluate("() => document.body.scrollWidth") <= size["width"]


def _page_of(link, address):
    return f"{address}/notebooks/index.html?path={link.code}/{link.file}"


def test_plain_http_is_told_on_both_pages(links, address, browser):
    """Where browsers keep nothing, the page says so before anything is answered."""
    plain = address.replace(HERE, NAME)
    with browser.new_context() as context:
        page = context.new_page()
        page.goto(links[ADA].at(plain).address)
        checks = page.locator("#checks")
        expect(checks).to_contain_text("browsers keep nothing there")
        expect(checks).to_contain_text("download your hand-in first")
        expect(page.locator("#said")).to_contain_text("press the button")
        page.goto(_page_of(links[ADA], plain))
        bar = _bars(page).filter(has_text="NOTHING IS KEPT")
        expect(bar).to_contain_text("Download my hand-in", timeout=READY_MS)


def test_blocked_storage_is_told_on_both_pages(tmp_path, links, address, profile):
    """A browser that keeps no site data says so, also where no workbook can open."""
    preferences = {"profile": {"default_content_setting_values": {"cookies": 2}}}
    folder = tmp_path / "profile" / "Default"
    folder.mkdir(parents=True)
    (folder / "Preferences").write_text(json.dumps(preferences), encoding="utf-8")
    with profile() as context:
        page = context.pages[0]
        page.goto(links[ADA].at(address).address)
        expect(page.locator("#checks")).to_contain_text("set to keep no data")
        page.goto(_page_of(links[ADA], address))
        expect(_bars(page)).to_contain_text("set to keep no data", timeout=READY_MS)
