"""What the desk and a process that works for it say to each other."""

from __future__ import annotations

import json
from multiprocessing.connection import Connection
from typing import Any


class Stopped(Exception):  # noqa: N818 - it is what was asked for
    """The instructor has stopped the work: all that was begun is taken back."""


class LostError(Exception):
    """A process that worked has ended before its work, as when memory ran out."""


class Line:
    """The process's end: says how far work is, and hears that it is to stop."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def say(self, **said: Any) -> None:  # noqa: ANN401 - what JSON takes
        """Say something to the desk, as JSON."""
        self._connection.send_bytes(json.dumps(said).encode())

    def progress(self, step: str, done: int, total: int) -> None:
        """Say how far a step is; raises `Stopped` where the work is to stop."""
        self.say(step=step, done=done, total=total)
        self.wait(0)

    def tell(self, **told: Any) -> None:  # noqa: ANN401 - what JSON takes
        """Tell the page something while the work goes on."""
        self.say(told=told)

    def wait(self, seconds: float) -> None:
        """Wait a while; raises `Stopped` as soon as that is asked for."""
        if self._connection.poll(seconds):
            raise Stopped
