"""What opening a link moves and shows: python -m tests.bench.opening.

Bytes are counted between the browser and our own server, on the wire, of all that asks:
page, workers and service worker. Times are from the link to what is seen.
"""

import sys
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

from generator.serving.web import Place, new_server
from tests.bench.site import browser_in, build, tell
from tests.browser.wire import wire_to

EXERCISES = 4
_OPEN = "Open my workbook"
# Ours is on screen where one of these is drawn.
_OURS = ".cb-root, .clampbook-bar, #clampbook-opening, #open"


@contextmanager
def wired(site):
    """Serve a site as `clampbook serve` does; gives the wire to it."""
    with new_server(site, Place(host="127.0.0.1", port=0)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with wire_to(server.server_address[1]) as wire:
            yield wire
        server.shutdown()


def visit(page, wire, link):
    """Open a link until all forms are there; gives bytes and seconds of each step."""
    before, start = wire.moved, time.perf_counter()
    seen = []
    page.goto(link.at(wire.address).address, wait_until="commit")
    page.locator(_OURS).first.wait_for()
    seen.append(time.perf_counter() - start)
    page.wait_for_timeout(300)
    button = page.get_by_role("button", name=_OPEN)
    if "notebooks" not in page.url and button.count():
        button.click()
    clicked = time.perf_counter()
    page.wait_for_url("**/notebooks/**", wait_until="commit")
    page.locator(".cb-root, .clampbook-bar, #clampbook-opening").first.wait_for()
    seen.append(time.perf_counter() - clicked)
    page.locator(".cb-root").nth(EXERCISES - 1).wait_for(state="attached")
    seen.append(time.perf_counter() - start)
    page.wait_for_timeout(2000)
    return wire.moved - before, seen


def main():
    """Print a line for each visit."""
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        work = Path(folder)
        made, links, _ = build(work / "one", 1, exercises=EXERCISES)
        with wired(made.folder / "site") as wire:
            for name in ("first", "second", "third"):
                with browser_in(playwright, work / "profile") as page:
                    moved, (ours, again, forms) = visit(page, wire, links[0])
                tell(f"{name} visit, moved", f"{moved / 1e6:.2f} MB")
                tell(f"{name} visit, until ours is on screen", f"{ours:.2f} s")
                tell("  and on the workbook's page", f"{again:.2f} s")
                tell(f"{name} visit, until all forms are there", f"{forms:.1f} s")


if __name__ == "__main__":
    sys.exit(main())
