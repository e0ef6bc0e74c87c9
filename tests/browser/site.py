"""Drive the site, and the browser that holds what a student did."""

import os
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.page import exercise

# Python starts in the browser; on a busy machine that takes long.
READY_MS = 180_000


def open_by_link(page, link, address):
    """Come in by the private link, and wait for the forms."""
    page.goto(link.at(address).address)
    return form_of(page)


def form_of(page, number=1):
    """The form of an exercise, once all forms are there."""
    forms = page.locator(f".cb-root[aria-label^='Exercise {number} ']")
    forms.wait_for(state="attached", timeout=READY_MS)
    # Until it has started, the page still goes by itself to where the student was.
    expect(page.get_by_text("Your workbook starts")).to_have_count(0, timeout=READY_MS)
    return exercise(page, number)


def signal_browser(profile, number):
    """Send a signal to all processes of the browser that stores in a folder."""
    option = f"--user-data-dir={profile}".encode()
    for process in Path("/proc").glob("[0-9]*"):
        try:
            words = (process / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if option in words:
            os.killpg(int(process.name), number)
            return
    raise AssertionError(f"no browser stores in {profile}")
