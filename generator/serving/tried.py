"""The test link: a device opens it, and says here whether it will do."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated

from msgspec import Meta, MsgspecError, Struct, json
from msgspec.structs import replace

from answer_keys.visible_text import visible
from generator.serving.service import Answer, Asked

PATH = "/tried"
"""Where the start page tells it, when it was opened by the test link."""

_MOST, _MAX_BYTES = 200, 1_000
_Text = Annotated[str, Meta(max_length=300)]


class Tried(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A device that has opened the test link, as its page says it.

    Attributes
    ----------
    device : str
        As its browser names itself; only to tell it from others.
    keeps, runs : bool
        Whether it keeps answers here, and runs Python.
    why : str
        Why it keeps none, in the language of the page; empty where it does.
    """

    device: _Text
    keeps: bool
    runs: bool
    why: _Text


class TestLink:
    """A service that notes what devices say: only so many, for anybody may say it.

    Attributes
    ----------
    tried : tuple of Tried
        The first one first.
    """

    __test__ = False  # not a test of pytest's

    def __init__(self) -> None:
        self.tried: tuple[Tried, ...] = ()

    def __call__(self, asked: Asked) -> Answer:
        """Take what one device says."""
        if asked.method != "POST" or asked.path or len(asked.body) > _MAX_BYTES:
            return Answer(status=HTTPStatus.NOT_FOUND)
        try:
            said = json.decode(asked.body, type=Tried)
        except (MsgspecError, UnicodeDecodeError):
            return Answer(status=HTTPStatus.BAD_REQUEST)
        if len(self.tried) < _MOST:
            device, why = visible(said.device, 120), visible(said.why)
            self.tried = (*self.tried, replace(said, device=device, why=why))
        return Answer()
