"""The record of an examination on paper: who worked when, and all that happened."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, StrictUndefined

from generator.examining.room import Room
from generator.examining.supervision import protocol_rows, state_of
from workbook.texts import _, language

_PAGE = Path(__file__).parent / "templates" / "protocol.html.j2"


def protocol_text(room: Room) -> str:
    """Write the protocol as a page to print, in the language spoken."""
    pages = Environment(autoescape=True, undefined=StrictUndefined)
    state = state_of(room)
    first = {
        seat.student: room.record_of(seat).entries[:1] for seat in room.seats.values()
    }
    last = {
        seat.student: room.record_of(seat).entries[-1:] for seat in room.seats.values()
    }
    return pages.from_string(_PAGE.read_text("utf-8")).render(
        _=_,
        language=language(),
        set_id=room.set_id,
        state=state,
        first=first,
        last=last,
        rows=list(protocol_rows(room)),
        shown=lambda at: at.astimezone().strftime("%Y-%m-%d %H:%M:%S"),
    )
