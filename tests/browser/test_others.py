"""No other computer is asked: that this would be noticed, and in Jupyter as opened.

Every test of this folder sees to it besides, by a fixture of its own in conftest.py.
"""

import sys
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from generator.writing.request import Request
from generator.writing.roster import Student
from generator.writing.set_writing import write_class_set
from tests.browser import page as student
from tests.browser.conftest import served
from tests.browser.server import Server, free_port, jupyter_server, running
from tests.workbook.sample import write_workbook

ADA, BRUNO = "ada-hollen", "bruno-karst"
COMMAND = "from generator.cli import main; main()"
# JupyterLab's own news and updates, once a student agrees to be told of them:
# jupyterlab/handlers/announcements.py of 4.6.6.
NEWS = """() => Promise.all(["/lab/api/news", "/lab/api/update"].map((path) =>
  fetch(path, { headers: { "X-XSRFToken": document.cookie.split("_xsrf=")[1] } })))"""
NEWS_FROM = "jupyterlab.github.io"

ASKING = """async () => {
  const script = "fetch('http://worker.example/').catch(() => {});";
  new Worker(URL.createObjectURL(new Blob([script])));
  new WebSocket("ws://socket.example/");
  new Image().src = "https://picture.example/";
  await navigator.serviceWorker.register("service.js");
}"""
ASKED = {"http://worker.example/", "socket.example:80", "picture.example:443"}
BY_SERVICE_WORKER = "http://service.example/"


def test_whoever_asks_another_computer_is_noticed(browser, others, tmp_path):
    """Workers, service workers, sockets and pictures: all are written down."""
    (tmp_path / "index.html").write_text("<!doctype html>", "utf-8")
    (tmp_path / "service.js").write_text(
        f"oninstall = (e) => e.waitUntil(fetch('{BY_SERVICE_WORKER}').catch(() => 0));",
        "utf-8",
    )
    with served(tmp_path) as address, browser.new_context() as context:
        page = context.new_page()
        page.goto(address)
        page.evaluate(ASKING)
        missing = ASKED | {BY_SERVICE_WORKER}
        for _ in range(100):
            missing -= set(others.taken())
            if not missing:
                break
            page.wait_for_timeout(50)
        assert missing == set()


@pytest.fixture(scope="module")
def opened_set(others, tmp_path_factory):  # noqa: ARG001 - none without a browser
    """`clampbook serve --python`: what runs, and where one workbook lies in it."""
    folder, state = tmp_path_factory.mktemp("set"), tmp_path_factory.mktemp("state")
    request = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=name, name=name) for name in (ADA, BRUNO)),
        exercises=1,
        mode="graded",
    )
    made = write_class_set(folder / "SET", request)
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


def test_opened_workbook_asks_nobody(browser, opened_set):
    """In Notebook 7 as the command opens it: page, server, kernel, and the lists."""
    server, workbook = opened_set
    with browser.new_context() as context:
        page = context.new_page()
        page.goto(server.address(workbook, "notebooks"))
        _work(page, student.exercise(page, 1))
        for address in ("", "tree", "lab"):
            page.goto(f"{server.url}/{address}?token={server.token}")
            page.locator(".jp-DirListing-content").wait_for(timeout=20_000)
            page.wait_for_load_state("networkidle")
        page.evaluate(NEWS)
    assert server.asked() == set()


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
