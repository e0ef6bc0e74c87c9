"""A wire between browsers and a server, that counts what the server sends."""

import socket
import threading
from contextlib import contextmanager, suppress

_CHUNK = 1 << 16


class Wire:
    """Passes connections on; ``moved`` are the bytes that came back."""

    def __init__(self, listener, port):
        self.moved = 0
        self.address = f"http://127.0.0.1:{listener.getsockname()[1]}"
        self._target = ("127.0.0.1", port)

    def accept(self, listener):
        """Take connections until there is no listener any more."""
        with suppress(OSError):
            while True:
                near, _ = listener.accept()
                threading.Thread(target=self._join, args=(near,), daemon=True).start()

    def _join(self, near):
        with near, socket.create_connection(self._target) as far:
            back = threading.Thread(target=self._pass_on, args=(far, near, 1))
            back.start()
            self._pass_on(near, far, 0)
            back.join()

    def _pass_on(self, one, other, weight):
        with suppress(OSError):
            while data := one.recv(_CHUNK):
                self.moved += weight * len(data)
                other.sendall(data)
        for each in (one, other):
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)


@contextmanager
def wire_to(port):
    """Give a wire to a port of this machine."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        wire = Wire(listener, port)
        threading.Thread(target=wire.accept, args=(listener,), daemon=True).start()
        yield wire
        with suppress(OSError):
            listener.shutdown(socket.SHUT_RDWR)
