"""The room of an examination on the web, for students and for their supervisor."""

from __future__ import annotations

import gc
import hmac
import logging
import secrets
from http import HTTPStatus
from pathlib import Path

import msgspec

from answer_keys.errors import RefusedError
from answer_keys.written_files import write_private
from generator.errors import WritingError
from generator.examining.protocol import protocol_text
from generator.examining.room import Room, UnknownCodeError
from generator.examining.supervision import state_of
from generator.examining.work_record import ConflictError
from generator.serving.room_texts import room_texts
from generator.serving.service import Answer, Asked, Service, json_answer
from workbook.texts import speaking

READINGS, SUPERVISION = "/readings/", "/room/"
"""Where the two are mounted."""

_log = logging.getLogger(__name__)
_PAGES = Path(__file__).parent / "pages"
_STATUS: dict[type[RefusedError], HTTPStatus] = {
    UnknownCodeError: HTTPStatus.NOT_FOUND,
    ConflictError: HTTPStatus.CONFLICT,
}


class Readings:
    """Answers students' pages; the path is the student's code."""

    def __init__(self, room: Room) -> None:
        self._room = room

    def __call__(self, asked: Asked) -> Answer:
        """Take lines, give what is due; raises nothing."""
        if asked.method != "POST":
            return json_answer({"refused": "post lines here"}, HTTPStatus.NOT_FOUND)
        try:
            return json_answer(self._room.exchange(asked.path, asked.body))
        except RefusedError as error:
            status = _STATUS.get(type(error), HTTPStatus.BAD_REQUEST)
            return json_answer({"refused": error.reason}, status)
        except (WritingError, OSError):
            # The supervisor sees it where the command runs; a student is told to wait.
            _log.exception("The room cannot write")
            return json_answer(
                {"refused": "the room cannot write"}, HTTPStatus.SERVICE_UNAVAILABLE
            )


def services_of(
    room: Room, token_file: Path, language: str
) -> tuple[dict[str, Service], str]:
    """Give what a server mounts for a room, and the supervisor's path in it.

    The path ends in a token, which is also in a file of the instructor's alone.

    Raises
    ------
    RoomError
        Where the record of a student was changed.
    """
    room.open_seats()
    # They stay as long as the server: to look through a thousand of them for what can
    # be thrown away takes a third of a second, in which nobody gets an answer.
    gc.collect()
    gc.freeze()
    supervision = Supervision(room, token_file, language)
    services: dict[str, Service] = {
        READINGS: Readings(room),
        SUPERVISION: supervision,
    }
    return services, f"{SUPERVISION}#{supervision.token}"


class _Deed(msgspec.Struct, forbid_unknown_fields=True):
    do: str
    student: str = ""
    minutes: float = 0.0


_DEED = msgspec.json.Decoder(_Deed)
_TYPES = {"": "index.html", "room.js": "room.js", "room.css": "room.css"}
_KINDS = {".html": "text/html", ".js": "text/javascript", ".css": "text/css"}


class Supervision:
    """Answers the supervisor's page, to whom has the token.

    Parameters
    ----------
    token_file : pathlib.Path
        Where a token is written, for the instructor alone, and anew each time.
    language : str
        Of page and protocol: that of the workbooks.
    """

    def __init__(self, room: Room, token_file: Path, language: str) -> None:
        self._room, self._language = room, language
        self.token = secrets.token_hex(16)
        write_private(token_file, f"{self.token}\n".encode())

    def __call__(self, asked: Asked) -> Answer:
        """Show the page to anybody, and what happens only with the token."""
        # A browser asks for the page before any script could show a token.
        name = _TYPES.get(asked.path)
        if asked.method == "GET" and name:
            page = _PAGES / name
            kind = f"{_KINDS[page.suffix]}; charset=utf-8"
            return Answer(body=page.read_bytes(), content_type=kind)
        if (asked.method, asked.path) == ("GET", "texts"):
            return self._texts()
        if not hmac.compare_digest(
            asked.authorization.encode(), f"Bearer {self.token}".encode()
        ):
            return json_answer({"refused": "no token"}, HTTPStatus.FORBIDDEN)
        with speaking(self._language):
            return self._answered(asked)

    def _texts(self) -> Answer:
        with speaking(self._language):
            return json_answer({"language": self._language, "texts": room_texts()})

    def _answered(self, asked: Asked) -> Answer:
        match asked.method, asked.path:
            case "GET", "state":
                return json_answer(msgspec.to_builtins(state_of(self._room)))
            case "GET", "protocol":
                text = protocol_text(self._room)
                return Answer(
                    body=text.encode(), content_type="text/html; charset=utf-8"
                )
            case "POST", "do":
                return self._done(asked.body)
        return json_answer({"refused": "not here"}, HTTPStatus.NOT_FOUND)

    def _done(self, body: bytes) -> Answer:
        try:
            deed = _DEED.decode(body)
            do_in(self._room, deed.do, deed.student, deed.minutes)
        except (msgspec.DecodeError, ValueError, WritingError) as error:
            return json_answer({"refused": str(error)}, HTTPStatus.BAD_REQUEST)
        return json_answer(msgspec.to_builtins(state_of(self._room)))


def do_in(room: Room, deed: str, student: str = "", minutes: float = 0.0) -> None:
    """Do what a supervisor asks for.

    Raises
    ------
    ValueError
        Where there is no such thing, or the time is none.
    RoomError
        As the room does.
    """
    if not 0 <= minutes <= 24 * 60:
        raise ValueError("minutes: 0 to 1440")
    match deed:
        case "start":
            room.start(minutes)
        case "pause":
            room.pause()
        case "resume":
            room.resume()
        case "stop":
            room.stop()
        case "more":
            room.more(student, minutes)
        case "seal":
            room.seal()
        case _:
            raise ValueError(f"there is nothing called {deed!r} to do")
