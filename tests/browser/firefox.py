"""Firefox, by the protocol that it has built in: no driver in between.

What is asked is by name and content that of WebDriver, https://www.w3.org/TR/webdriver2
(from memory); before each message stands its length.
"""

import json
import shutil
import socket
import subprocess
import time
from contextlib import contextmanager

from tests.browser.others import HERE, refusing
from tests.ports import free_port

START_S = 60.0
READY_MS = 180_000  # Python starts in the browser; on a busy machine that takes long
ENTER = "\ue007"
# Firefox tells of each request who asked: a page or a worker of one, or Firefox itself,
# for its settings, its updates, and to see whether there is a network.
_NOTE = """
  window.askedByPages = [];
  Services.obs.addObserver((request) => {
    request.QueryInterface(Ci.nsIHttpChannel);
    if (!request.loadInfo.triggeringPrincipal.isSystemPrincipal) {
      window.askedByPages.push(request.URI.spec);
    }
  }, "http-on-opening-request");
"""


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
    others : tests.browser.others.Others
        Notes what its pages ask of other hosts.
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
    }
    profile.mkdir(exist_ok=True)
    command = [program(), "--headless", "--no-remote", "--marionette"]
    command.append("--remote-allow-system-access")  # it has to tell who asks others
    with refusing() as proxy:
        preferences |= _cut_off(proxy.server_port)
        (profile / "user.js").write_text(_user_js(preferences), encoding="utf-8")
        with subprocess.Popen([*command, "--profile", profile]) as process:
            try:
                with _connected(port) as connection, connection.makefile("rb") as file:
                    page = Page(connection, file)
                    yield page
                    for address in page.asked():
                        others.hear(address)
            finally:
                process.terminate()


def _cut_off(port):
    """Settings that ask a proxy, which refuses it, for whatever is not this machine."""
    return {
        "network.proxy.type": 1,
        "network.proxy.http": HERE,
        "network.proxy.http_port": port,
        "network.proxy.ssl": HERE,
        "network.proxy.ssl_port": port,
    }


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
            return socket.create_connection((HERE, port))
        except OSError:
            assert time.monotonic() < deadline, "Firefox did not start"
            time.sleep(0.1)


class Page:
    """The one page of a Firefox; what is looked for is waited for."""

    def __init__(self, connection, stream):
        self._connection, self._stream = connection, stream
        self._receive()
        self._ask("NewSession")
        self._ask("SetTimeouts", implicit=READY_MS, script=READY_MS)
        self._inside(_NOTE)

    def _receive(self):
        length = b""
        while (digit := self._stream.read(1)) != b":":
            length += digit
        return json.loads(self._stream.read(int(length)))

    def _ask(self, command, of="WebDriver", **parameters):
        message = json.dumps([0, 1, f"{of}:{command}", parameters])
        self._connection.sendall(f"{len(message)}:{message}".encode())
        _, _, error, answer = self._receive()
        assert error is None, error
        return answer.get("value")

    def _inside(self, script):
        """Run a script in Firefox itself, not in its page."""
        self._ask("SetContext", of="Marionette", value="chrome")
        value = self.run(script, sandbox="system")
        self._ask("SetContext", of="Marionette", value="content")
        return value

    def asked(self):
        """Every address that pages have asked for."""
        return self._inside("return window.askedByPages;")

    def run(self, script, **more):
        """Run a script; gives back what it returns, once that is there."""
        return self._ask("ExecuteScript", script=script, args=[], **more)

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
