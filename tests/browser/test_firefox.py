"""The site in Firefox."""

import json

import pytest

from tests.absent import stop
from tests.browser.conftest import CARLA
from tests.browser.firefox import ENTER, firefox, program

BEGIN = ".cb-cover .cb-onward button"
FIELD = ".cb-root input[type=text]"


@pytest.mark.nightly
def test_firefox_keeps_answers_and_hands_in(links, own_address, others, tmp_path):
    """Work, come back after a reload, hand in: on our own server."""
    if program() is None:
        stop("no Firefox on this computer")
    with firefox(tmp_path / "profile", tmp_path, others) as page:
        page.open(links[CARLA].at(own_address).address)
        page.click(BEGIN)
        page.type(FIELD, "148 mA")
        assert "Read as" in page.text(".cb-echo.cb-right")
        page.type(FIELD, ENTER)
        assert "You wrote “148 mA”" in page.text(".cb-answer")
        page.reload()
        started = "body:not(:has(.clampbook-progress))"
        assert "You wrote “148 mA”" in page.text(f"{started} .cb-answer")
        page.click(".cb-hand-in button")
        # By Python, or by the page itself where the computer is too busy for that.
        assert "hand-in-" in page.text(".cb-status:is(.cb-right, .cb-caution)")
    (file,) = tmp_path.glob("hand-in-*.jsonl")
    *_, last = file.read_text("utf-8").splitlines()
    assert json.loads(last)["raw"] == "148 mA"


@pytest.mark.nightly
def test_firefox_tells_what_becomes_of_a_private_window(
    links, address, others, tmp_path
):
    """What is told in every window is told in a private one, too."""
    if program() is None:
        stop("no Firefox on this computer")
    private = {"browser__privatebrowsing__autostart": True}
    with firefox(tmp_path / "profile", tmp_path, others, **private) as page:
        page.open(links[CARLA].at(address).address)
        assert "closing a private window" in page.text(".clampbook-caution")
