"""The record of an examination on paper: who worked when, and all that happened."""

from __future__ import annotations

from pathlib import Path

from generator.examining.room import Room
from generator.examining.supervision import protocol_rows, state_of
from generator.filled_page import filled_page

_PAGE = Path(__file__).parent / "templates" / "protocol.html.j2"


def protocol_text(room: Room) -> str:
    """Write the protocol as a page to print, in the language spoken."""
    seats = room.seats.values()
    return filled_page(
        _PAGE,
        set_id=room.set_id,
        state=state_of(room),
        entries={seat.student: room.record_of(seat).entries for seat in seats},
        rows=list(protocol_rows(room)),
        shown=lambda at: at.astimezone().strftime("%Y-%m-%d %H:%M:%S"),
    )
