"""The site in Firefox."""

import json

from tests.absent import stop
from tests.browser.conftest import MANY
from tests.browser.firefox import ENTER, asked_by_pages, firefox, program

FIELD = ".cb-root input[type=text]"


def test_firefox_keeps_answers_and_hands_in(links, own_address, others, tmp_path):
    """Work, come back after a reload, hand in: on our own server, with its policy."""
    if program() is None:
        stop("no Firefox on this computer")
    with firefox(tmp_path / "profile", tmp_path, others) as page:
        page.open(links[MANY[0]].at(own_address).address)
        assert "keeps what you do" in page.text("#checks .right")
        page.click("button[type=submit]")
        page.type(FIELD, "148 mA")
        assert "Read as" in page.text(".cb-echo.cb-right")
        page.type(FIELD, ENTER)
        assert "You wrote “148 mA”" in page.text(".cb-answer")
        page.reload()
        assert "You wrote “148 mA”" in page.text(".cb-answer")
        page.click(".cb-hand-in button")
        assert "Hand-in downloaded" in page.text(".cb-status.cb-right")
    assert asked_by_pages(others) == []
    (file,) = tmp_path.glob("hand-in-*.jsonl")
    *_, last = file.read_text("utf-8").splitlines()
    assert json.loads(last)["raw"] == "148 mA"


def test_firefox_tells_what_becomes_of_a_private_window(
    links, address, others, tmp_path
):
    """Firefox lets no page know that a window is private, and promises nothing in it.

    Seen in 140: storage and its room are as in any other window.
    """
    if program() is None:
        stop("no Firefox on this computer")
    private = {"browser__privatebrowsing__autostart": True}
    with firefox(tmp_path / "profile", tmp_path, others, **private) as page:
        page.open(links[MANY[0]].at(address).address)
        assert "A private window forgets" in page.text("#checks .right")
        page.click("button[type=submit]")
        assert "when you close a private window" in page.text(".clampbook-caution")
    assert asked_by_pages(others) == []
