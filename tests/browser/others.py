"""Notices whatever a page asks of any other computer.

The browser itself tells what its pages ask, and frames, workers, service workers and
sockets in them: so nothing is taken for it that a browser asks of its maker by itself.
Chromium's driver does not tell of shared workers, nor of sockets in service workers. A
proxy sees those as well, and whatever a browser asks by itself. What leaves without a
proxy (WebRTC) is not seen.
"""

import threading
from contextlib import contextmanager
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

HERE = "127.0.0.1"
NAME = "classroom.example"  # a name that stands for this machine, reached by plain http
_ASKING = ("http", "https", "ws", "wss")


class Others:
    """The addresses on other computers that pages have asked for."""

    def __init__(self):
        self._asked = []

    def listen(self, context):
        """Note what the pages of a browser's window ask, as its driver tells it."""
        context.on("request", lambda request: self.hear(request.url))
        context.on("page", self._listen_to_sockets)
        for page in context.pages:
            self._listen_to_sockets(page)

    def _listen_to_sockets(self, page):
        page.on("websocket", lambda socket: self.hear(socket.url))

    def hear(self, address):
        """Note what a page asked for, unless that is on this machine."""
        parts = urlsplit(address)
        if parts.scheme in _ASKING and parts.hostname not in (HERE, NAME):
            self._asked.append(address)

    def taken(self):
        """What was asked for since this was last called."""
        asked, self._asked = self._asked, []
        return asked


class Proxy(ThreadingHTTPServer):
    """A proxy on a free port that notes every address and refuses it.

    A browser sends all to it that is not for the loopback address.
    """

    daemon_threads = True

    def __init__(self):
        super().__init__((HERE, 0), _Refusal)
        self.asked = []


class _Refusal(BaseHTTPRequestHandler):
    def _refuse(self):
        self.server.asked.append(self.path)
        self.send_error(HTTPStatus.FORBIDDEN)

    do_GET = do_HEAD = do_POST = do_PUT = do_OPTIONS = do_CONNECT = _refuse  # noqa: N815

    def log_message(self, *_):
        pass


@contextmanager
def refusing():
    """Run such a proxy."""
    with Proxy() as proxy:
        threading.Thread(target=proxy.serve_forever, daemon=True).start()
        yield proxy
        proxy.shutdown()
