"""No other computer is asked: that this would be noticed, and in Jupyter as opened.

Every test of this folder sees to it besides, by a fixture of its own in conftest.py.
"""

import sys
import time
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.set_writing import write_class_set
from tests.absent import stop
from tests.browser import page as student
from tests.browser.conftest import ADA as STUDENT
from tests.browser.conftest import FLAGS, PATIENCE_MS, chromium, served
from tests.browser.firefox import firefox, program
from tests.browser.others import HERE, refusing
from tests.browser.server import Server, jupyter_server, running
from tests.browser.site import open_by_link
from tests.drawn import SECRET
from tests.ports import free_port
from tests.workbook.sample import write_workbook

ADA, BRUNO = "ada-hollen", "bruno-karst"
COMMAND = "from generator.cli import main; main()"
# JupyterLab's own news and updates, once a student agrees to be told of them:
# jupyterlab/handlers/announcements.py of 4.6.6.
NEWS = """() => Promise.all(["/lab/api/news", "/lab/api/update"].map((path) =>
  fetch(path, { headers: { "X-XSRFToken": document.cookie.split("_xsrf=")[1] } })))"""
NEWS_FROM = "jupyterlab.github.io"

ASKING = """
  const script = "fetch('http://worker.example/').catch(() => {});" +
    "new WebSocket('ws://worker-socket.example/');";
  new Worker(URL.createObjectURL(new Blob([script])));
  new SharedWorker("shared.js");
  new WebSocket("ws://socket.example/");
  new Image().src = "https://picture.example/";
  const frame = document.createElement("iframe");
  frame.src = "frame";
  document.body.append(frame);
  navigator.serviceWorker.register("service.js");
"""
FILES = {
    "index.html": "<!doctype html>",
    "frame/index.html": "<script>fetch('http://frame.example/')</script>",
    "form.html": f"<!doctype html><form>{'<label>Number <input></label>' * 4}</form>",
    "shared.js": "fetch('http://shared.example/').catch(() => {});",
    "service.js": "oninstall = () => {"
    " fetch('http://service.example/').catch(() => {});"
    " new WebSocket('ws://service-socket.example/'); };",
}
ASKED = {
    f"{who}.example"
    for who in ("worker", "worker-socket", "socket", "picture", "frame", "service")
}
BY_SHARED = {"shared.example", "service-socket.example"}


@pytest.fixture
def asking(tmp_path):
    """The address of a page, in whose name other computers can be asked."""
    for name, text in FILES.items():
        path = tmp_path / "site" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    with served(tmp_path / "site") as address:
        yield address


def _hosts(addresses):
    """Whose addresses they are; a proxy is given some without a scheme."""
    return {
        urlsplit(each if "//" in each else f"//{each}").hostname for each in addresses
    }


def _see_all(missing, asked, wait):
    """Wait until each is among those asked."""
    deadline = time.monotonic() + PATIENCE_MS / 1000
    while missing := missing - _hosts(asked()):
        assert time.monotonic() < deadline, f"not seen: {missing}"
        wait()


def test_whatever_a_page_asks_of_others_is_noticed(browser, profile, others, asking):
    """Frames, workers, service workers and sockets, whether data is kept or not."""
    for start in (browser.new_context, profile):
        with start() as context:
            page = context.new_page()
            page.goto(asking)
            page.evaluate(ASKING)
            _see_all(ASKED, others.taken, partial(page.wait_for_timeout, 50))


@pytest.mark.nightly
def test_whatever_a_page_of_firefox_asks_is_noticed(others, asking, tmp_path):
    """As Firefox itself tells it, and nothing of what it asks its maker for."""
    if program() is None:
        stop("no Firefox on this computer")
    with firefox(tmp_path / "profile", tmp_path, others) as page:
        page.open(asking)
        page.run(ASKING)
        _see_all(ASKED | BY_SHARED, page.asked, partial(time.sleep, 0.05))
    assert _hosts(others.taken()) == ASKED | BY_SHARED


@contextmanager
def _seen_whole(playwright):
    """A page of a Chromium of its own, and the list of all that this asks of others."""
    with refusing() as proxy:
        option = f"--proxy-server=http://{HERE}:{proxy.server_port}"
        browser = playwright.chromium.launch(
            executable_path=chromium(), args=[*FLAGS, option]
        )
        yield browser.new_page(), proxy.asked
        browser.close()


@pytest.mark.release
@pytest.mark.nightly
def test_chromium_asks_no_more_for_a_workbook_than_for_any_form(
    playwright, asking, links, address, opened_set
):
    """Also by ways that its driver does not tell of: what it asks its maker is left.

    On a site, and in Notebook 7 as the command opens it: page, kernel, and the lists.
    Its server asks nobody.
    """
    server, workbook = opened_set
    with _seen_whole(playwright) as (page, asked):
        page.goto(asking)
        page.evaluate(ASKING)
        wait = partial(page.wait_for_timeout, 50)
        _see_all(ASKED | BY_SHARED, lambda: asked, wait)
    with _seen_whole(playwright) as (page, asked):
        _work(page, open_by_link(page, links[STUDENT], address))
        page.goto(server.address(workbook, "notebooks"))
        _work(page, student.exercise(page, 1))
        for address in ("", "tree", "lab"):
            page.goto(f"{server.url}/{address}?token={server.token}")
            page.locator(".jp-DirListing-content").wait_for()
            page.wait_for_load_state("networkidle")
        page.evaluate(NEWS)
    assert server.asked() == set()

    def work_elsewhere():
        page.goto(f"{asking}/form.html")
        page.locator("input").first.press_sequentially("Fann standds still.")

    with _seen_whole(playwright) as (page, asked_for_any):
        _see_all(_hosts(asked), lambda: asked_for_any, work_elsewhere)


@pytest.fixture(scope="module")
def opened_set(browser, tmp_path_factory):  # noqa: ARG001 - none without a browser
    """`clampbook serve --python`: what runs, and where one workbook lies in it."""
    folder, state = tmp_path_factory.mktemp("set"), tmp_path_factory.mktemp("state")
    request = Request(
        lessons=("expected-current",),  # begins with a current
        students=tuple(Student(id=name, name=name) for name in (ADA, BRUNO)),
        exercises=1,
        mode="graded",
    )
    made = write_class_set(folder / "SET", request, secret=SECRET)
    port = free_port()
    options = ("serve", folder / "SET", "--python", "--port", port)
    command = [sys.executable, "-c", COMMAND, *map(str, options)]
    url = f"http://127.0.0.1:{port}"
    server = Server(url=url, token="", folder=folder, state=state)
    workbook = made.workbook_file(ADA).relative_to(made.folder / "for-students")
    with running(server, command):
        yield replace(server, token=server.told_token()), workbook.as_posix()


def _work(page, form):
    """Do what a student does first, and hand it in."""
    field = form.get_by_role("textbox").first
    field.fill("148 mA")
    expect(form.locator(".cb-echo.cb-right").first).to_contain_text("Read as")
    field.press("Enter")
    expect(student.status(form)).to_contain_text(student.RECORDED)
    student.download_hand_in(page, form)


@pytest.mark.nightly
def test_plain_lab_asks_nobody_for_a_workbook(browser, tmp_path):
    """Without our settings JupyterLab asks others for itself, but for no workbook.

    Its server looks for news and updates once a student agrees to be told of them.
    Lists of files are what its user put there: a student's own workbook.
    """
    (tmp_path / "book").mkdir()
    (tmp_path / "state").mkdir()
    path = write_workbook(tmp_path / "book", count=1).relative_to(tmp_path / "book")
    with (
        jupyter_server(tmp_path / "book", tmp_path / "state", "") as server,
        browser.new_context() as context,
    ):
        page = context.new_page()
        student.open_workbook(page, server, path)
        _work(page, student.exercise(page, 1))
        assert server.asked() == set()
        page.evaluate(NEWS)
        assert NEWS_FROM in server.asked()
