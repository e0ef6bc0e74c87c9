"""One JupyterLab and one browser for all browser tests."""

import os
import shutil
from itertools import count

import pytest

from tests.workbook.sample import write_workbook

PATIENCE_MS = 20_000  # for what comes at once on a machine that has nothing else to do
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    # Cuts the network: no name but the loopback address is found.
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
)


def pytest_collection_modifyitems(items):
    """Mark everything in this folder."""
    for item in items:
        if "tests/browser" in item.path.as_posix():
            item.add_marker("browser")


def chromium():
    """The system's Chromium, which Playwright can drive as well as its own."""
    names = ("chromium", "chromium-browser", "google-chrome")
    return next(filter(None, map(shutil.which, names)), None)


def stop(reason):
    """Skip the test, or fail it in CI, where everything has to be there."""
    (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)


@pytest.fixture(scope="session")
def playwright():
    """What drives Chromium; without one, tests are skipped, but fail in CI."""
    try:
        from playwright.sync_api import expect, sync_playwright
    except ImportError:
        stop("playwright is not installed")
    if chromium() is None:
        stop("no Chromium on this computer")
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(playwright):
    """A headless Chromium."""
    browser = playwright.chromium.launch(
        executable_path=chromium(), headless=True, args=list(FLAGS)
    )
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def server(browser, tmp_path_factory):  # noqa: ARG001 - no server without a browser
    """A JupyterLab that serves a folder of its own."""
    from tests.browser.server import jupyter_server

    served = tmp_path_factory.mktemp("served")
    with jupyter_server(served, tmp_path_factory.mktemp("state")) as server:
        yield server


@pytest.fixture(scope="module")
def shared_page(browser):
    """A browser window for all tests of a module, to spare opening JupyterLab."""
    with browser.new_context(viewport={"width": 1280, "height": 900}) as context:
        page = context.new_page()
        page.set_default_timeout(10_000)
        yield page


@pytest.fixture(scope="session")
def new_workbook(server):
    """Write a sample workbook in a folder of its own; gives its path on the server."""
    numbers = count(1)

    def write(exercises=1):
        folder = server.folder / f"student {next(numbers)} Åsa"
        folder.mkdir()
        path = write_workbook(folder, count=exercises)
        return path.relative_to(server.folder)

    return write
