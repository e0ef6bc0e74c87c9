"""One JupyterLab and one browser for all browser tests."""

import fcntl
import os
import shutil
import threading
from contextlib import contextmanager, suppress
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from itertools import count
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from generator.drawing.request import Request, Student
from generator.errors import SiteError
from generator.serving.web import Place, address_of, new_server
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from generator.site.build import write_site
from generator.site.shared import shared_part
from tests.absent import stop
from tests.browser.every_kind import write_every_kind
from tests.browser.others import HERE, NAME, Others
from tests.browser.wire import wire_to
from tests.drawn import SECRET
from tests.kept import FOLDER
from tests.workbook.sample import write_workbook

KILLS = int(os.environ.get("KILLS", "2"))
ADA, BRUNO, CARLA = "ada", "bruno", "carla"
MANY = tuple(f"many-{number}" for number in range(1 + KILLS // 2))  # for kills
SAVES = 6  # exercises of the sample workbook
WIDE = {"width": 1280, "height": 900}
NARROW = {"width": 320, "height": 900}
MANY_SAVES = 20

# For whatever is waited for: no test takes longer for it, and a busy machine may.
PATIENCE_MS = 60_000
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
    f"--host-resolver-rules=MAP {NAME} {HERE} , MAP * ~NOTFOUND , EXCLUDE {HERE}",
)

# Compiles the browser's Python once and not again for speed, which takes longer than a
# test does.
COMPILED_ONCE = "--js-flags=--liftoff-only"


def is_night(config):
    """Whether a run has nightly tests, which need more than the others.

    What comes before a release is nightly, too, and may be run by its own mark.
    """
    chosen = config.option.markexpr.replace("not nightly", "")
    return "nightly" in chosen or "release" in chosen


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark everything in this folder, and put it first, since it takes the longest."""
    for item in items:
        if "tests/browser" in item.path.as_posix():
            item.add_marker("browser")
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)


def chromium():
    """The system's Chromium, which Playwright can drive as well as its own."""
    names = ("chromium", "chromium-browser", "google-chrome")
    return next(filter(None, map(shutil.which, names)), None)


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
def others():
    """What the pages of all tests ask of other computers; nobody answers them."""
    return Others()


@pytest.fixture(autouse=True)
def no_other_computer_is_asked(request, others):
    """Whatever a test does: no page, server or kernel of ours leaves this one."""
    yield
    assert others.taken() == []
    if "server" in request.fixturenames:
        assert request.getfixturevalue("server").asked() == set()


@pytest.fixture(scope="session")
def browser(playwright, others):
    """A headless Chromium; whatever its pages ask of others is noted."""
    browser = playwright.chromium.launch(
        executable_path=chromium(), headless=True, args=[*FLAGS, COMPILED_ONCE]
    )
    new_context = browser.new_context

    def new_watched(**options):
        context = new_context(**options)
        others.listen(context)
        context.set_default_timeout(PATIENCE_MS)
        return context

    browser.new_context = new_watched
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def window(browser):
    """A browser window for all tests, which keeps what JupyterLab once has loaded."""
    with browser.new_context() as context:
        yield context


@pytest.fixture
def fresh_page(window):
    """A page of that window."""
    with window.new_page() as page:
        yield page


# A page that goes on to another workbook spares half of what a new one takes: Jupyter's
# scripts are compiled already.
@pytest.fixture(scope="session")
def notebook_tab(window):
    """A page in which Notebook 7 goes from one workbook to the next."""
    with window.new_page() as page:
        yield page


@pytest.fixture(scope="session")
def lab_tab(window):
    """A page in which JupyterLab goes from one workbook to the next."""
    with window.new_page() as page:
        page.set_viewport_size(WIDE)
        yield page


@pytest.fixture(scope="session")
def server(browser, tmp_path_factory):  # noqa: ARG001 - no server without a browser
    """A JupyterLab that serves a folder of its own."""
    from tests.browser.server import jupyter_server

    folder = tmp_path_factory.mktemp("served")
    with jupyter_server(folder, tmp_path_factory.mktemp("state")) as server:
        yield server


@pytest.fixture(scope="session")
def class_set(tmp_path_factory, pytestconfig):
    """A graded set of which all but the first student have the sample workbook."""
    samples = {CARLA: 1}
    if is_night(pytestconfig):
        samples |= {BRUNO: SAVES} | dict.fromkeys(MANY, MANY_SAVES)
    drawn = Request(
        lessons=("mixed-diagnosis",),
        students=tuple(Student(id=name, name=name) for name in (ADA, *samples)),
        exercises=2,
        mode="graded",
    )
    made = write_class_set(
        tmp_path_factory.mktemp("site") / "SET", drawn, secret=SECRET
    )
    for name, count_ in samples.items():
        sample = write_workbook(made.workbook_file(name).parent, count=count_)
        sample.replace(made.workbook_file(name))
    return made


@pytest.fixture(scope="session")
def links(class_set):
    """The private link of each student, on a site that is built or cannot be."""
    return {link.student: link for link in site_links(class_set)}


@pytest.fixture(scope="session")
def built():
    """What all sites share, built once by all processes of a run."""
    build_once()


def build_once():
    """Build it, one process after the other; a test stops where it cannot be."""
    try:
        with _one_at_a_time("site"):
            shared_part(lambda *_: None)
    except SiteError as error:
        stop(f"the site cannot be built: {error}")


def site_links(class_set):
    """Write the site of a set, where one can be built; gives the students' links."""
    build_once()
    try:
        return write_site(class_set, open_key(class_set)[0], class_set.folder / "site")
    except SiteError as error:
        stop(f"the site cannot be built: {error}")


@contextmanager
def _one_at_a_time(name):
    """Let one process of a run after the other do something under a name."""
    if FOLDER not in os.environ:
        yield
        return
    with Path(os.environ[FOLDER], f"{name}.lock").open("wb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


@pytest.fixture(scope="session")
def address(class_set, links):  # noqa: ARG001 - served once it is built
    """Where a web server that knows nothing of us gives the site out."""
    with served(class_set.folder / "site") as address:
        yield address


@pytest.fixture(scope="session")
def own_address(class_set, links):  # noqa: ARG001 - served once it is built
    """Where our own server gives the site out, with its policy for pages."""
    place = Place(host="127.0.0.1", port=0)
    with new_server(class_set.folder / "site", place) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield address_of(server, place)
        server.shutdown()


@pytest.fixture(scope="session")
def wire(own_address):
    """A wire to our own server, that counts what it sends."""
    with wire_to(urlsplit(own_address).port) as wire:
        yield wire


@contextmanager
def served(folder):
    """Give a folder out by a web server that knows nothing of us; gives its address."""
    handler = partial(_Quiet, directory=folder)
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_):
        pass


@pytest.fixture
def profile(playwright, others, tmp_path):
    """Start a browser process, again and again with the same storage."""

    from playwright.sync_api import Error

    @contextmanager
    def start():
        context = playwright.chromium.launch_persistent_context(
            tmp_path / "profile",
            executable_path=chromium(),
            args=[*FLAGS, COMPILED_ONCE],
        )
        others.listen(context)
        context.set_default_timeout(PATIENCE_MS)
        yield context
        with suppress(Error):  # a test may have killed it
            context.close()

    return start


@pytest.fixture(scope="session")
def every_kind(server, pytestconfig):
    """A practice set that asks everything, for one student, and one more at night."""
    students = (ADA, BRUNO) if is_night(pytestconfig) else (ADA,)
    return write_every_kind(server.folder, students)


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
