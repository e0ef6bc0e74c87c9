"""Notices whatever a browser asks of any other computer.

A browser sends all that is not for the loopback address to its proxy. This one writes
down whom it was to ask, and asks nobody: so pages are seen to, and frames, workers,
service workers and sockets in them. What leaves without a proxy (WebRTC) is not seen.
"""

import threading
from contextlib import contextmanager
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Proxy(ThreadingHTTPServer):
    """A proxy on a free port that notes every address and refuses it."""

    daemon_threads = True

    def __init__(self):
        super().__init__(("127.0.0.1", 0), _Refusal)
        self._asked = []

    def note(self, address):
        """Write down what a browser asked for."""
        self._asked.append(address)

    def taken(self):
        """What was asked for since this was last called."""
        asked, self._asked = self._asked, []
        return asked


class _Refusal(BaseHTTPRequestHandler):
    def _refuse(self):
        self.server.note(self.path)
        self.send_error(HTTPStatus.FORBIDDEN)

    do_GET = do_HEAD = do_POST = do_PUT = do_OPTIONS = do_CONNECT = _refuse  # noqa: N815

    def log_message(self, *_):
        pass


@contextmanager
def noted():
    """Run such a proxy."""
    with Proxy() as proxy:
        threading.Thread(target=proxy.serve_forever, daemon=True).start()
        yield proxy
        proxy.shutdown()
