"""Firefox, by the protocol that it has built in: no driver in between.

What is asked is by name and content that of WebDriver, https://www.w3.org/TR/webdriver2
(from memory); before each message stands its length.
"""

import json
import re
import shutil
import socket
import subprocess
import time
from contextlib import contextmanager

from tests.browser.server import free_port

START_S = 60.0
READY_MS = 120_000  # Python starts in the browser; on a busy machine that takes long
ENTER = "\ue007"
# Whatever page is open: its settings, its updates, whether there is a network.
_OF_ITS_MAKER = re.compile(r"\.(mozilla\.(com|org)|firefox\.com)(:443|/|$)")


def program():
    """The system's Firefox; none where it is not installed."""
    return shutil.which("firefox-esr") or shutil.which("firefox")


@contextmanager
def firefox(profile, downloads, others, **preferences):
    """Run a Firefox with a storage of its own, cut off from every other host.

    Parameters
    ----------
    profile, downloads : Path
        Where it keeps what it stores, and what is downloaded.
    others : tests.browser.others.Proxy
        Notes what is asked of other hosts.
    preferences : object
        More of its settings, by name, with ``__`` for dots.
    """
    port = free_port()
    preferences = {name.replace("__", "."): set_ for name, set_ in preferences.items()}
    preferences |= {
        "marionette.port": port,
        "browser.download.dir": str(downloads),
        "browser.download.folderList": 2,
        # It would fetch codecs for video from others than its maker.
        "media.gmp-manager.updateEnabled": False,
        # Whatever is not this machine is asked of that proxy.
        "network.proxy.type": 1,
        "network.proxy.http": "127.0.0.1",
        "network.proxy.http_port": others.server_port,
        "network.proxy.ssl": "127.0.0.1",
        "network.proxy.ssl_port": others.server_port,
    }
    profile.mkdir(exist_ok=True)
    (profile / "user.js").write_text(_user_js(preferences), encoding="utf-8")
    command = [program(), "--headless", "--marionette", "--no-remote"]
    with subprocess.Popen([*command, "--profile", profile]) as process:
        try:
            with _connected(port) as connection, connection.makefile("rb") as stream:
                yield Page(connection, stream)
        finally:
            process.terminate()


def asked_by_pages(others):
    """What was asked of other hosts, but for what Firefox asks its maker for itself."""
    return [each for each in others.taken() if not _OF_ITS_MAKER.search(each)]


def _user_js(preferences):
    lines = [
        f"user_pref({json.dumps(name)}, {json.dumps(value)});\n"
        for name, value in preferences.items()
    ]
    return "".join(lines)


def _connected(port):
    deadline = time.monotonic() + START_S
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port))
        except OSError:
            assert time.monotonic() < deadline, "Firefox did not start"
            time.sleep(0.1)


class Page:
    """The one page of a Firefox; what is looked for is waited for."""

    def __init__(self, connection, stream):
        self._connection, self._stream = connection, stream
        self._receive()
        self._ask("NewSession")
        self._ask("SetTimeouts", implicit=READY_MS)

    def _receive(self):
        length = b""
        while (digit := self._stream.read(1)) != b":":
            length += digit
        return json.loads(self._stream.read(int(length)))

    def _ask(self, command, **parameters):
        message = json.dumps([0, 1, f"WebDriver:{command}", parameters])
        self._connection.sendall(f"{len(message)}:{message}".encode())
        _, _, error, answer = self._receive()
        assert error is None, error
        return answer.get("value")

    def open(self, address):
        """Go to a page."""
        self._ask("Navigate", url=address)

    def reload(self):
        """Load the page again."""
        self._ask("Refresh")

    def _find(self, selector):
        found = self._ask("FindElement", using="css selector", value=selector)
        (element,) = found.values()
        return element

    def text(self, selector):
        """What an element shows."""
        return self._ask("GetElementText", id=self._find(selector))

    def click(self, selector):
        """Click an element."""
        self._ask("ElementClick", id=self._find(selector))

    def type(self, selector, text):
        """Type into an element, key by key."""
        self._ask("ElementSendKeys", id=self._find(selector), text=text)
