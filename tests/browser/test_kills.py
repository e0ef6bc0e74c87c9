"""Kills browser and kernel at random points: what was called recorded is handed in.

``KILLS=50 python -m pytest -m nightly -s tests/browser/test_kills.py`` does it that
often.
"""

import random
import signal
import sys
from itertools import count, islice

import pytest

from tests.browser import page as student
from tests.browser.conftest import KILLS, MANY, MANY_SAVES
from tests.browser.site import open_by_link, signal_browser

pytestmark = pytest.mark.nightly

LONGEST_MS = 1500  # some steps
STEPS = 12  # at most, before a kill

# Records one after the other, as fast as the page allows, and tells every number that
# the page shows as recorded.
_RECORD = """() => {
  const told = new Set();
  const tell = () => {
    for (const answer of document.querySelectorAll(".cb-answer .cb-small")) {
      const raw = /You wrote “(.*)”. Recorded/.exec(answer.textContent)?.[1];
      if (raw && !told.has(raw)) console.log(`recorded: ${raw}`);
      told.add(raw);
    }
  };
  new MutationObserver(tell).observe(document.body, { childList: true, subtree: true });
  const record = async () => {
    for (const echo of document.querySelectorAll(".cb-echo.cb-right")) {
      const form = echo.closest("form");
      form.requestSubmit();
      while (form.isConnected) await new Promise((yes) => setTimeout(yes, 5));
    }
  };
  record();
}"""


class Work:
    """What a student does at a page, and what the page says of it."""

    def __init__(self):
        self._random = random.Random(1)  # the same points again
        self._numbers = count(1)
        self.said, self.total = set(), 0

    def begin(self, page):
        """Work for a while, of random length."""
        page.on("console", self._hear)
        numbers = islice(self._numbers, STEPS)
        student.type_all(page, {n: f"{each} mA" for n, each in enumerate(numbers)})
        page.evaluate(_RECORD)
        page.wait_for_timeout(self._random.uniform(0, LONGEST_MS))

    def _hear(self, message):
        what, _, raw = message.text.partition(": ")
        if what == "recorded":
            self.said.add(raw.replace("\u00a0", " "))

    def check(self, page, form):
        """Compare with the hand-in that the page gives now."""
        _, (_, *lines) = student.download_hand_in(page, form)
        missing = self.said - {line.get("raw") for line in lines}
        assert not missing, f"called recorded, but not handed in: {sorted(missing)}"

    def begin_another(self):
        """Go on with a workbook in which nothing is recorded."""
        self.total += len(self.said)
        self.said.clear()

    def tell(self, killed):
        """Say how much was at stake."""
        self.begin_another()
        assert self.total
        sys.stdout.write(f"{KILLS} {killed} killed, {self.total} steps recorded\n")


def _is_nearly_done(page):
    return page.locator(".cb-root input[type=text]").count() < STEPS


def test_killed_browser_loses_nothing(profile, tmp_path, links, address):
    """On the site the browser is all there is: it dies, and another one goes on."""
    workbooks, work = iter(MANY), Work()
    link = links[next(workbooks)]
    for _ in range(KILLS):
        with profile() as context:
            page = context.pages[0]
            work.check(page, open_by_link(page, link, address))
            if _is_nearly_done(page):
                link = links[next(workbooks)]
                work.begin_another()
                open_by_link(page, link, address)
            work.begin(page)
            signal_browser(tmp_path / "profile", signal.SIGKILL)
    with profile() as context:
        page = context.pages[0]
        work.check(page, open_by_link(page, link, address))
    work.tell("browsers")


def test_killed_kernel_loses_nothing(fresh_page, server, new_workbook):
    """In Jupyter the page hands in without the kernel, and the next one knows all."""
    work, path = Work(), new_workbook(MANY_SAVES)
    page = fresh_page
    dialog = page.locator(".jp-Dialog .jp-mod-accept")
    page.add_locator_handler(dialog, dialog.click)
    for _ in range(KILLS):
        student.open_workbook(page, server, path, "notebooks")
        work.check(page, student.exercise(page, 1))
        if _is_nearly_done(page):
            path = new_workbook(MANY_SAVES)
            work.begin_another()
            student.open_workbook(page, server, path, "notebooks")
            student.exercise(page, MANY_SAVES)
        work.begin(page)
        server.signal_kernel(path, signal.SIGKILL)
        work.check(page, student.exercise(page, 1))
    student.open_workbook(page, server, path, "notebooks")
    work.check(page, student.exercise(page, 1))
    work.tell("kernels")
